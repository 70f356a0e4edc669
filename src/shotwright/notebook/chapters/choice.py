"""The choice, what it rests on, and what would change it."""

from __future__ import annotations

from functools import partial

from shotwright.base.estimate import Estimate
from shotwright.notebook.blocks import (
    Block,
    Bullets,
    Caution,
    Column,
    Heading,
    Picture,
    Section,
    Table,
    Words,
)
from shotwright.notebook.content import NotebookContent, RankRow, TruthRow
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.share_bars import rank_chart
from shotwright.notebook.wording import day, estimate_words, percent

CONDITIONS = "Conditions that must be met"
PASSED = {True: "met", False: "NOT MET", None: "can't be told yet"}


def choice(content: NotebookContent) -> Section:
    """Return the chapter on the choice."""
    blocks: list[Block] = []
    if not content.choices:
        blocks.append(Words("No choice has been recorded yet."))
    for entry in content.choices:
        blocks += [Heading(f"{day(entry.date)}: {entry.prototype}"), Words(f"Reason: {entry.reason}")]
        if entry.evidence:
            blocks += [Words("It rested on:"), Bullets(entry.evidence)]
        if entry.would_change:
            blocks += [Words("What would change it:"), Bullets(entry.would_change)]
        if entry.now_words:
            blocks.append(Caution(f"Since then: {entry.now_words}"))
    if content.gates:
        blocks += [Heading(CONDITIONS), _gates(content)]
    if content.criteria:
        blocks += [Heading("What the choice is judged by"), _criteria(content)]
    if content.ranks:
        blocks += [Heading("How sure the ranking is"), *_ranks(content.ranks)]
    if content.testing_words:
        blocks += [Heading("What more testing would be worth"), Bullets(content.testing_words)]
    return Section("choice", "The choice", tuple(blocks), fresh_page=True)


def _gates(content: NotebookContent) -> Table:
    columns = (
        Column("prototype"),
        Column("condition", share=1.6),
        Column("met?"),
        Column("figures", share=2.2),
    )
    rows = tuple((g.prototype, g.gate, PASSED[g.passed], g.words) for g in content.gates)
    return Table(
        "Hard conditions. A prototype that misses one is out, whatever else it can do.", columns, rows
    )


def _criteria(content: NotebookContent) -> Table:
    names = list(dict.fromkeys(name for c in content.criteria for name, _ in c.values))
    columns = (Column("criterion", share=1.5), Column("weight", True), *(Column(n, share=1.4) for n in names))
    rows = []
    for one in content.criteria:
        values = dict(one.values)
        weight = "–" if one.weight is None else f"{one.weight:.2f}"
        rows.append((one.name, weight, *(values.get(n, "–") for n in names)))
    return Table("Criteria, the crew's weights, and what each prototype reaches.", columns, tuple(rows))


def _ranks(ranks: tuple[RankRow, ...]) -> list[Block]:
    beaten = [
        f"{r.prototype} is no better than {r.dominated_by} in any criterion." for r in ranks if r.dominated_by
    ]
    blocks: list[Block] = [
        Picture(
            "ranks",
            "How often each prototype takes each rank, over draws of everything that the shots leave "
            "open. A share of 80 % in rank 1 would say: in 80 of 100 worlds that agree with the shots, it "
            "is the best.",
            partial(_rank_chart, ranks),
        ),
        Table(
            "Rank acceptability: share of the draws that gives a prototype each rank.",
            (
                Column("weights", share=1.5),
                Column("prototype", share=1.3),
                *(Column(f"rank {k + 1}", True) for k in range(max(len(r.shares) for r in ranks))),
            ),
            tuple(_rank_cells(r, max(len(s.shares) for s in ranks)) for r in ranks),
        ),
    ]
    return [*blocks, Bullets(tuple(dict.fromkeys(beaten)))] if beaten else blocks


def _rank_cells(row: RankRow, count: int) -> tuple[str, ...]:
    shares = [percent(share) for share in row.shares] + ["–"] * (count - len(row.shares))
    return (row.weights_words, row.prototype, *shares)


def _rank_chart(ranks: tuple[RankRow, ...], key: str, width: float) -> Drawing:
    return rank_chart(ranks, key=key, width=width)


def truth(content: NotebookContent) -> Section | None:
    """Return the chapter that holds estimates against the hidden truth of simulated data, or None."""
    if not content.truth:
        return None
    columns = (
        Column("quantity", share=2.0),
        Column("hidden truth", True),
        Column("estimated (95 % interval)", share=1.8),
        Column("inside?"),
    )
    rows = tuple(_truth_cells(row) for row in content.truth)
    caption = (
        "SIMULATED data: the truth that the shots were drawn from, and what the chain made of the shots."
    )
    words = (
        "The shots were drawn by the program, so the truth is known. About one interval in twenty should "
        "miss it. With a real launcher nobody knows this column."
    )
    return Section("truth", "How close the estimates came", (Words(words), Table(caption, columns, rows)))


def _truth_cells(row: TruthRow) -> tuple[str, ...]:
    tail = f" {row.unit}" if row.unit and row.unit != "%" else row.unit
    inside = "–"
    if isinstance(row.estimate, Estimate):
        inside = "yes" if row.estimate.low <= row.truth <= row.estimate.high else "no"
    return (
        row.what,
        f"{row.scale * row.truth:.3g}{tail}",
        estimate_words(row.estimate, row.unit, row.scale),
        inside,
    )
