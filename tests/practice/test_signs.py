"""The signs that a finding is chosen from: the first ones, and what the practice makes of them."""

import pytest

from practice.actions.signs import save_sign
from practice.lib.errors import RuleBroken
from practice.models import Sign
from practice.project.book.exporter import export_book
from practice.reports.signs import all_signs, first_signs, signs_to_choose
from practice.rules.signs import FIRST_SIGNS, FOR_VET
from tests.factories.practice import ProfileFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


def names(signs) -> list[str]:
    return [sign.name for sign in signs]


def test_a_practice_starts_with_signs_that_no_row_is_needed_for():
    for_vet = {sign.name for sign in signs_to_choose() if sign.for_vet}

    assert names(signs_to_choose()) == list(FIRST_SIGNS)
    assert for_vet == FOR_VET == FOR_VET & set(FIRST_SIGNS)
    assert not Sign.objects.exists()


def test_a_new_sign_goes_to_the_end_and_the_first_ones_stay():
    save_sign(Sign(name="growth ring"))

    assert names(signs_to_choose()) == [*FIRST_SIGNS, "growth ring"]
    assert Sign.objects.count() == len(FIRST_SIGNS) + 1


def test_a_first_sign_is_renamed_archived_and_moved_in_its_place():
    crack, flare = (next(sign for sign in first_signs() if sign.name == name) for name in ("crack", "flare"))
    crack.name, crack.position = "sand crack", 90
    save_sign(crack)
    Sign.objects.filter(uuid=flare.uuid).update(archived=True)

    kept = [name for name in FIRST_SIGNS if name not in ("crack", "flare")]
    assert names(signs_to_choose()) == [*kept, "sand crack"]
    assert "flare" in names(all_signs())


def test_two_signs_of_one_name_are_refused_and_nothing_is_written():
    with pytest.raises(RuleBroken) as refused:
        save_sign(Sign(name=" HEAT "))

    assert refused.value.code == "sign_known"
    assert not Sign.objects.exists()


def test_the_list_comes_back_in_the_book(tmp_path, check_it_comes_back):
    save_sign(Sign(name="growth ring", for_vet=True))
    export_book(tmp_path / "season")

    assert len((tmp_path / "season" / "signs.csv").read_text().splitlines()) == len(FIRST_SIGNS) + 2
    check_it_comes_back(tmp_path / "season")
