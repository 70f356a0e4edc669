"""The HTML notebook: one file, nothing fetched, nothing executed, everything traceable."""

from __future__ import annotations

import dataclasses
import datetime
import itertools
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.notebook.blocks import Picture, Table
from shotwright.notebook.book import sections
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.page import write_html
from shotwright.trials.records import Shot

EVIL = '"><script>alert(1)</script><img src=x onerror=alert(2)> {{ 7*7 }} & \x00 </svg></style>'


class Page(HTMLParser):
    """Tags with their attributes, and the text outside style."""

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(source)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        while self.open and self.open.pop() != tag:
            pass

    def handle_data(self, data):
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.words))


@pytest.fixture(scope="module")
def source(content) -> str:
    return write_html(content)


def test_nothing_is_fetched_and_nothing_runs(source):
    page = Page(source)
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "link", "iframe", "object", "img", "embed", "base", "form"}
    for _, attributes in page.tags:
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href", "xlink:href", "action"):
            assert (attributes.get(name) or "#").startswith("#")
    left = source.replace("http://www.w3.org/2000/svg", "")
    assert "http:" not in left
    assert "https:" not in left
    assert all(u.startswith(("data:font/woff2;base64,", "#")) for u in re.findall(r"url\(([^)]*)\)", source))
    assert "@import" not in source


def test_ids_are_unique_and_links_lead_somewhere(source):
    page = Page(source)
    ids = [a["id"] for _, a in page.tags if a.get("id")]
    assert len(ids) == len(set(ids))
    for _, attributes in page.tags:
        if (attributes.get("href") or "").startswith("#"):
            assert attributes["href"][1:] in ids
        if attributes.get("aria-labelledby"):
            assert set(attributes["aria-labelledby"].split()) <= set(ids)
    assert set(re.findall(r"url\(#([^)]*)\)", source)) <= set(ids)


def test_headings_form_a_tree_and_the_page_names_its_language(source):
    page = Page(source)
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))
    assert ("html", {"lang": "en"}) in page.tags


def test_every_caption_and_cell_is_on_the_page(content, source):
    text = Page(source).text
    for section in sections(content):
        for block in section.blocks:
            if isinstance(block, Table | Picture):
                assert re.sub(r"\s+", " ", block.caption) in text
            if isinstance(block, Table):
                assert all(cell in text for row in block.rows for cell in row)


def test_measured_figures_name_their_trials_and_shots(content):
    for section in sections(content):
        for block in section.blocks:
            if isinstance(block, Picture) and block.key.startswith(("scatter", "spread", "hit", "width")):
                for name in ("T1", "T2", "T3"):
                    assert name in block.caption
                assert "shots 1–7 (7 counted; 8 set aside)" in block.caption


def test_every_shot_is_listed_with_its_source_and_its_reason(content, source):
    text = Page(source).text
    for page in content.trials:
        for shot in page.shots:
            assert shot.source in text
    assert "ball was torn" in text


def test_simulated_data_is_announced_and_measured_data_is_not(content, source):
    assert 'class="banner"' in source
    measured = tuple(
        dataclasses.replace(p, trial=dataclasses.replace(p.trial, origin="measured")) for p in content.trials
    )
    hits = tuple(dataclasses.replace(h, origin="measured") for h in content.hits)
    plain = write_html(dataclasses.replace(content, trials=measured, hits=hits, truth=()))
    assert 'class="banner"' not in plain
    assert "SIMULATED" not in Page(plain).text.replace("carry the word SIMULATED", "")


def test_safety_page_lists_energy_and_defers(source):
    text = Page(source).text
    for words in ("Launchers hurt people", "Eyes", "Pinch points", "Batteries", "stored energy [J]", "38"):
        assert words in text
    assert "licensed engineer" in text
    assert "replace none of them" in text


def test_both_themes_and_both_widths_are_in_the_file(source):
    assert "light-dark(" in source
    assert "@media print" in source
    assert source.count('<div class="wide"><svg') == source.count('<div class="narrow"><svg') > 5


def test_the_same_content_gives_the_same_page(content):
    assert write_html(content) == write_html(content)


def test_hostile_words_stay_words(content):
    page = content.trials[0]
    shots = tuple(dataclasses.replace(s, remark=EVIL, ball=EVIL, set_aside=EVIL) for s in page.shots)
    trial = dataclasses.replace(page.trial, prototype=EVIL, remark=EVIL, setting=EVIL)
    bad = dataclasses.replace(
        content,
        project_name=EVIL,
        trials=(dataclasses.replace(page, trial=trial, shots=shots),),
        summary=(EVIL,),
        origin_notes=(EVIL,),
    )
    found = Page(write_html(bad))
    tags = {tag for tag, _ in found.tags}
    assert not tags & {"script", "img"}
    assert "49" not in found.text.split("provenance")[0][:200]
    assert "onerror=alert(2)> {{ 7*7 }} &" in found.text
    assert "\x00" not in write_html(bad)


@settings(max_examples=15, deadline=None)
@given(st.text(max_size=30))
def test_any_remark_gives_a_page_without_foreign_tags(source, content, words):
    page = content.trials[0]
    shots = tuple(dataclasses.replace(s, remark=words) for s in page.shots)
    small = NotebookContent("Small", content.made_on, "0.1.0", content.game)
    found = Page(write_html(dataclasses.replace(small, trials=(dataclasses.replace(page, shots=shots),))))
    assert {tag for tag, _ in found.tags} <= {tag for tag, _ in Page(source).tags}


def test_an_empty_project_prints_what_is_missing(game):
    bare = NotebookContent("Empty", datetime.date(2031, 1, 2), "0.1.0", game)
    text = Page(write_html(bare)).text
    for words in (
        "No trial has been logged",
        "No hit probability",
        "No choice has been recorded",
        "No shot window",
    ):
        assert words in text


def test_a_trial_without_a_mark_or_with_one_shot_prints(content):
    page = content.trials[0]
    one = dataclasses.replace(page, shots=page.shots[:1], ellipses=(), findings=(), flagged=(), mean_m=None)
    none = dataclasses.replace(one, shots=(Shot("u", "T1", 1),))
    text = Page(write_html(dataclasses.replace(content, trials=(one,), hits=()))).text
    assert "shot 1 (1 counted)" in text
    text = Page(write_html(dataclasses.replace(content, trials=(none,), hits=()))).text
    assert "No mark was taken of shot 1" in text


def test_ten_thousand_shots_print(content):
    page = content.trials[2]
    shots = tuple(
        dataclasses.replace(page.shots[k % 9], uid=f"u{k}", order=k + 1, along=5.6 + (k % 97) / 500)
        for k in range(10_000)
    )
    source = write_html(
        dataclasses.replace(content, trials=(dataclasses.replace(page, shots=shots),), hits=())
    )
    assert "shots 1–10000 (10000 counted)" in source
