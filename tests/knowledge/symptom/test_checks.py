"""The tables of complaints: a faulty edit is refused, and a newcomer needs to edit nothing else."""

import pytest

from knowledge.assemble import read_knowledge
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        ("evidence.csv", "when=cold,,too-thick-cold", "when=colt,,too-thick-cold", "did you mean 'when=cold'"),
        ("evidence.csv", "when=cold,,too-thick-cold", "when=cold,,too-thick-colt", "did you mean 'too-thick-cold'"),
        ("evidence.csv", "when=cold,,too-thick-cold,3", "when=cold,,too-thick-cold,0", "must not be 0"),
        ("evidence.csv", "when=cold,,too-thick-cold,3", "when=cold,,too-thick-cold,4", "must be 3 or less"),
        ("evidence.csv", "when=cold,,worn-ring-grip", "when=cold,,too-thick-cold", "stands already"),
        ("evidence.csv", "needs-oil-that-flows:excludes", "needs-oil-that-flow:excludes", "nothing that can be seen"),
        (
            "checks.toml",
            '"worn-teeth", "fork-or-detent"',
            '"worn-tooth", "fork-or-detent"',
            "did you mean 'worn-teeth'",
        ),
        ("checks.toml", '"fluid_state=low"', '"fluid_state=lo"', "nothing that can be seen"),
        ("checks.toml", '["rings=none"]', '["rings=non"]', "nothing that can be seen"),
        ("suspects.toml", '"grip_test=slips"', '"grip_test=slip"', "nothing that can be seen"),
        (
            "suspects.toml",
            'never gone."\nimpossible_when = ["rings=none"]',
            'never gone."',
            "can be made whenever it is a suspect",
        ),
        ("suspects.toml", "[worn-teeth]", "[worn-tooth]", "worn-tooth"),
        ("symptoms.toml", "[jumps-out]", "[hops-out]", "no row of evidence says what 'hops-out' points to"),
        ("suspects.toml", 'fluid_cures = "no"', 'fluid_cures = "yes"', "contradicts the side"),
    ],
)
def test_a_faulty_edit_is_refused_at_its_place(spoilt, name: str, old: str, new: str, message: str) -> None:
    assert any(message in fault.message and fault.line > 1 for fault in spoilt(name, old, new))


def test_a_newcomer_adds_a_complaint_a_suspect_and_a_check_by_editing_tables_only(tables) -> None:
    cited = 'sources = [{id = "trade-practice"}]'
    for name, old, more in (
        (
            "symptoms.toml",
            "[jumps-out]",
            f'[squeals]\nwords = "."\nmeans = "."\nsuspects = ["dry-seal"]\ncheck = "."\n{cited}\n\n[jumps-out]',
        ),
        (
            "suspects.toml",
            "[worn-teeth]",
            (
                '[dry-seal]\nside = "hardware"\nwords = "a dry seal"\nwhat_it_is = "."\nfluid_cures = "no"\n'
                f'fluid_reason = "Seals are replaced."\n{cited}\n\n[worn-teeth]'
            ),
        ),
        (
            "evidence.csv",
            "when=cold,,too-thick-cold",
            (
                "symptoms=squeals,,dry-seal,2,Seals squeal.,trade-practice,seals,common-practice,\n"
                "when=cold,,too-thick-cold"
            ),
        ),
        (
            "checks.toml",
            "[grip-test]",
            (
                '[look-at-the-seal]\nwords = "Look at the seal."\nhow = "Look."\ncost = 1\n'
                f'outcomes = [{{result = "Dry.", points_to = ["dry-seal"]}}]\n{cited}\n\n[grip-test]'
            ),
        ),
    ):
        path = tables / name
        path.write_text(path.read_text(encoding="utf-8").replace(old, more, 1), encoding="utf-8")
    base = read_knowledge(tables)
    answer = compute_symptom_answer(SymptomQuestion(symptoms=("squeals",)), base)
    assert [suspect.id for suspect in answer.suspects if suspect.leads] == ["dry-seal"]
    assert answer.fluid_can_cure == "no"
    assert [check.id for check in answer.next_checks] == ["look-at-the-seal"]
