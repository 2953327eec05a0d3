"""What a broken rule tells a program and a person."""

import pickle

from practice.lib.errors import RuleBroken


def test_a_broken_rule_has_a_code_for_programs_and_a_message_for_people():
    broken = RuleBroken("visit_locked", "This visit is on an invoice. Credit the invoice first.")

    assert (broken.code, broken.message, str(broken)) == (
        "visit_locked",
        "This visit is on an invoice. Credit the invoice first.",
        "This visit is on an invoice. Credit the invoice first.",
    )


def test_a_broken_rule_comes_back_whole_from_another_process():
    broken = pickle.loads(pickle.dumps(RuleBroken("visit_locked", "This visit is on an invoice.")))

    assert (broken.code, broken.message) == ("visit_locked", "This visit is on an invoice.")
