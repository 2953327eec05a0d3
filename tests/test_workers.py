"""How the tests are dealt to the workers of a run."""

from tests.processes import ROOT
from tests.workers import TOGETHER, DealingTogether

RUN_BY_NAME = ("tests/benchmarks/", "tests/readme/")


def test_what_is_made_once_for_a_module_is_made_on_one_worker():
    made_once = ('scope="' + 'module"', "prepared" + "_book")
    share = {
        str(path.relative_to(ROOT))
        for path in (ROOT / "tests").rglob("test_*.py")
        if any(each in path.read_text() for each in made_once)
    }

    assert {name for name in share if not name.startswith(RUN_BY_NAME)} <= set(TOGETHER)


def test_each_test_that_is_dealt_together_with_others_is_there():
    for name in TOGETHER:
        module, _, test = name.partition("::")
        assert f"def {test}" in (ROOT / module).read_text()


def test_tests_that_share_something_are_one_unit_and_others_each_its_own():
    one_of_a_module = next(name for name in TOGETHER if "::" in name)
    names = [f"tests/project/{name}" for name in ("test_start.py::test_a[1]", "test_mail_worker.py::test_b")]

    units = [DealingTogether._split_scope(None, name) for name in (*names, one_of_a_module)]

    assert units == ["kept_book", names[1], "kept_book"]
