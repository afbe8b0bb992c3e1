"""What is compiled ahead: nothing may be left for the processes that share the work."""

from numba.core.dispatcher import Dispatcher

from scrapstore.packing import exchanges, guided_local_search, warm_up


def test_all_that_a_search_calls_is_ready() -> None:
    warm_up()
    called = {
        name: function
        for module in (exchanges, guided_local_search)
        for name, function in vars(module).items()
        if isinstance(function, Dispatcher)
    }
    assert {"minimize_overlap", "push_apart", "covers"} <= called.keys()
    assert [name for name, function in called.items() if not function.signatures] == []
