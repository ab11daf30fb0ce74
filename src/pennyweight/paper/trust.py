"""How far to trust the samples, on paper: numbers, and what asks for a second look."""

from __future__ import annotations

from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.qualitywords import quality_facts, quality_verdict
from pennyweight.paper.blocks import Block, TableColumn, heading, paragraph, table
from pennyweight.units import Measures

ABOUT_CUTTING = (
    "The handbooks leave out or lower the highest value; here it stays, and is treated "
    "by how unevenly gold lies in all samples together."
)


def trust_blocks(grade: GradeAnswer, measures: Measures) -> list[Block]:
    """Return what duplicates, blanks, single samples, people and days tell.

    Parameters
    ----------
    grade : GradeAnswer
        What each pan says.
    measures : Measures
        The reader's units.

    Returns
    -------
    list of Block
        Empty where there is nothing to judge.
    """
    facts = quality_facts(grade, measures)
    if not facts:
        return []
    columns = [TableColumn(head="what"), TableColumn(head="found", width="1fr")]
    blocks = [
        heading("How far to trust the samples"),
        paragraph(quality_verdict(grade)),
        table(columns, facts, size_pt=8.0),
        paragraph(ABOUT_CUTTING),
    ]
    odd = [one for one in grade.findings if one.weight != "note"]
    if odd:
        blocks.append(heading("What asks for a second look"))
        blocks += [paragraph(one.line()) for one in odd]
    return blocks
