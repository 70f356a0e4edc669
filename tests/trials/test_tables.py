"""Shot tables in every dress that a workshop finds, and every row that is none named."""

from __future__ import annotations

import datetime
import math

import pytest

from shotwright.base.errors import BadInput
from shotwright.trials.measure.headers import recognise
from shotwright.trials.measure.tables import read_shot_table


def read(tmp_path, text, name="shots.csv", encoding="utf-8", **kwargs):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    if not {"trial", "prototype"} & kwargs.keys() and "otype" not in str(text) and "trial" not in str(text):
        kwargs["trial"] = "first"
    return read_shot_table(path, **kwargs)


PLAIN = "shot,along (cm),cross (cm),ball,remark\n1,320,12,A,\n2,311,-8,B,flyer?\n"


def test_plain_csv(tmp_path):
    reading = read(tmp_path, PLAIN)

    assert reading.problems == ()
    first, second = reading.shots
    assert (first.trial, first.order, first.ball) == ("first", 1, "A")
    assert (first.along, first.cross) == pytest.approx((3.20, 0.12), abs=1e-12)
    assert (second.cross, second.remark) == (pytest.approx(-0.08), "flyer?")
    assert second.source == "shots.csv row 3"
    assert "column 'along (cm)' is read as along [cm]" in reading.notes


@pytest.mark.parametrize(
    ("header", "field", "metres"),
    [
        ("along (cm)", "along", 0.01),
        ("Along [in]", "along", 0.0254),
        ("along_cm", "along", 0.01),
        ("ALONG / m", "along", 1.0),
        ("along in mm", "along", 0.001),
        ("along, ft", "along", 0.3048),
        ("Distance (m)", "along", 1.0),
        ("range_m", "along", 1.0),
        ("X (mm)", "along", 0.001),
        ("Left/Right (cm)", "cross", 0.01),
        ("side in", "cross", 0.0254),
        ("y / in", "cross", 0.0254),
        ("Right (cm)", "cross", -0.01),
        ("height above floor (m)", None, None),
        ("z (m)", "height", 1.0),
        ("Speed_m_s", "speed", 1.0),
        ("velocity (km/h)", "speed", 1 / 3.6),
        ("v [ft/s]", "speed", 0.3048),
        ("angle °", "elevation", math.pi / 180),
        ("elevation_deg", "elevation", math.pi / 180),
        ("spin (rpm)", "spin", math.pi / 30),
        ("spin_rev_s", "spin", 2 * math.pi),
        ("Shot No.", "order", 1.0),
        ("#", "order", 1.0),
        ("order", "order", 1.0),
        ("Remarks", "remark", 1.0),
        ("hit?", "hit", 1.0),
        ("ball (colour)", "ball", 1.0),
        ("distance to the wall (m)", None, None),
        ("north", None, None),
        ("", None, None),
    ],
)
def test_headers(header, field, metres):
    # Units: inch, foot exact by definition; the others are powers of ten or turns.
    column = recognise(header)

    if field is None:
        assert column is None
    else:
        assert column.field == field
        assert column.sign * column.scale == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters(tmp_path, delimiter):
    reading = read(tmp_path, PLAIN.replace(",", delimiter), name="shots.txt")

    assert [s.along for s in reading.shots] == pytest.approx([3.2, 3.11])


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1"]
)
def test_encodings(tmp_path, encoding):
    text = "Nr;along / cm;cross / cm;Ball;remark\r\n1;320,5;-3,5;grün;über die Linie\r\n"
    (shot,) = read(tmp_path, text, encoding=encoding).shots

    assert (shot.ball, shot.remark) == ("grün", "über die Linie")
    assert (shot.along, shot.cross) == pytest.approx((3.205, -0.035), abs=1e-12)


def test_decimal_comma_between_commas_is_read_only_in_quotes(tmp_path):
    reading = read(tmp_path, 'along (m),cross (m)\n"3,25","0,1"\n3,25,0,1\n')

    assert [s.along for s in reading.shots] == [3.25]
    assert [(p.row, p.reason) for p in reading.problems] == [
        (3, "more cells than headers ('0'); a comma as decimal mark?")
    ]


def test_single_column_with_decimal_comma(tmp_path):
    assert [s.along for s in read(tmp_path, "along (m)\n3,25\n3,5\n").shots] == [3.25, 3.5]


def test_units_in_cells_win_over_the_header(tmp_path):
    text = "along (m);cross (m)\n3.2;4 in\n10 ft;0\n5 ft 3 in;-2 cm\n"
    reading = read(tmp_path, text)

    assert reading.problems == ()
    assert [s.along for s in reading.shots] == pytest.approx([3.2, 3.048, 1.6002])
    assert [s.cross for s in reading.shots] == pytest.approx([0.1016, 0.0, -0.02])


def test_unit_row_below_the_header(tmp_path):
    reading = read(tmp_path, "shot,along,cross,ball\n,cm,cm,\n1,320,10,A\n")

    assert [(s.along, s.cross) for s in reading.shots] == [pytest.approx((3.2, 0.1))]


def test_right_is_turned_round(tmp_path):
    reading = read(tmp_path, "along (m),right (m)\n3,0.2\n3,-0.1\n3,0\n")

    assert [s.cross for s in reading.shots] == [-0.2, 0.1, 0.0]
    assert "column 'right (m)' is read as cross [m], sign turned" in reading.notes


def test_columns_and_units_named_by_the_caller(tmp_path):
    text = "Kind,HPos,VPos,StartSpeed\nA,-10,36,90\nB,5,30,80\nA,0,20,91\n"
    reading = read(
        tmp_path,
        text,
        columns={"prototype": "kind", "cross": "HPos", "height": "VPos", "speed": "StartSpeed"},
        units={"cross": "in", "height": "in", "speed": "mph"},
        prototype=None,
    )

    assert [p.name for p in reading.prototypes] == ["A", "B"]
    assert [(t.name, t.prototype, t.surface) for t in reading.trials] == [
        ("A", "A", "plane"),
        ("B", "B", "plane"),
    ]
    assert [(s.trial, s.order) for s in reading.shots] == [("A", 1), ("B", 1), ("A", 2)]
    # inch and mile exact by definition
    assert reading.shots[0].cross == pytest.approx(-0.254)
    assert reading.shots[0].speed == pytest.approx(90 * 0.44704)


def test_right_named_by_the_caller_is_turned_round(tmp_path):
    reading = read(
        tmp_path, "a,b\n3,0.2\n", columns={"along": "a", "right": "b"}, units={"along": "m", "right": "m"}
    )

    assert reading.shots[0].cross == -0.2


def test_trial_and_prototype_columns(tmp_path):
    text = "prototype,trial,date,along (m),cross (m)\nP,T1,2026-01-17,3,0\nP,T2,18.1.2026,3,0\nQ,T1,,3,0\n"
    reading = read(tmp_path, text)

    assert [(t.name, t.prototype, t.date) for t in reading.trials] == [
        ("T1", "P", datetime.date(2026, 1, 17)),
        ("T2", "P", datetime.date(2026, 1, 18)),
    ]
    (problem,) = reading.problems
    assert (problem.row, problem.field) == (4, "prototype")
    assert problem.reason.startswith("'Q', but trial 'T1' is of prototype 'P' in the rows above")


def test_hits(tmp_path):
    words = ["yes", "No", "1", "0", "x", "", "miss", "TRUE", "perhaps"]
    reading = read(tmp_path, "shot,hit,along (m)\n" + "".join(f"{n},{w},1\n" for n, w in enumerate(words, 1)))

    assert [s.hit for s in reading.shots] == [True, False, True, False, True, None, False, True]
    assert [str(p) for p in reading.problems] == [
        "row 10, hit: 'perhaps' is neither hit nor miss; write yes or no"
    ]


def test_shots_without_numbers_count_rows_and_leave_room_for_the_bad_ones(tmp_path):
    text = "along (m),cross (m)\n3,0\nthree,0\n3.1,0\n"

    assert [s.order for s in read(tmp_path, text).shots] == [1, 3]
    assert [s.order for s in read(tmp_path, text, start_after={"first": 7}).shots] == [8, 10]


BAD_ROWS = [
    ("2,three,0,", "along", "'three' is not a number; leave the cell empty where nothing was measured"),
    ("2,nan,0,", "along", "'nan' is not a number"),
    ("2,inf,0,", "along", "'inf' is not a number"),
    ("2,1e400,0,", "along", "is not a finite number"),
    ("2,=1+2,0,", "along", "'=1+2' is a formula without a value"),
    ("2,300,=A2,", "cross", "is a formula"),
    ("=A2+1,300,1,", "order", "is a formula"),
    ("2,300 g,0,", "along", "'g' is not a unit of length"),
    ("2,300 furlongz,0,", "along", "is not a unit of length"),
    ("2,1.234.5,0,", "along", "more than one point or comma"),
    ('2,"1,234.5",0,', "along", "more than one point or comma"),
    ("2,200000,0,", "along", "is more than 1000 m; check the unit"),
    ("2,300,,", "cross", "is empty, though along is not"),
    ("2,,12,", "along", "is empty, though cross is not"),
    ("2,,,A", "", "nothing was measured"),
    (",300,0,", "order", "the shot has no number"),
    ("1,300,0,", "order", "shot 1 of trial 'first' is in row 2 already"),
    ("0,300,0,", "order", "'0' is not a shot number"),
    ("1.5,300,0,", "order", "'1.5' is not a shot number"),
    ("mean,300,0,", "order", "'mean' is not a shot number"),
    ("2,300,0,A,5", "", "more cells than headers"),
    ("2,1 2**9**9**9,0,", "along", "is not a unit of length"),
]


@pytest.mark.parametrize(("row", "field", "said"), BAD_ROWS, ids=[r[0] for r in BAD_ROWS])
def test_each_bad_row_is_named_and_the_rest_is_read(tmp_path, row, field, said):
    reading = read(tmp_path, f"shot,along (cm),cross (cm),ball\n1,320,12,A\n\n{row}\n3,320,12,C\n")

    assert [s.order for s in reading.shots] == [1, 3]
    (problem,) = reading.problems
    assert (problem.row, problem.field) == (4, field)
    assert said in problem.reason


def test_launch_values_out_of_range(tmp_path):
    text = "speed (m/s),angle (deg),spin (rpm)\n9,50,300\n-9,50,300\n9,95,300\n9,50,-300\n"
    reading = read(tmp_path, text)

    assert [(p.row, p.field) for p in reading.problems] == [(3, "speed"), (4, "elevation")]
    assert [s.spin for s in reading.shots] == pytest.approx([10 * math.pi, -10 * math.pi])


def test_missing_unit_is_told_once_with_the_cure(tmp_path):
    reading = read(tmp_path, "shot,along,cross (cm)\n" + "".join(f"{n},300,1\n" for n in range(1, 50)))

    assert reading.shots == ()
    (problem,) = reading.problems
    assert (problem.row, problem.field) == (1, "along")
    assert "the column 'along' has no unit; write it in the header, along (cm)" in problem.reason
    assert len(read(tmp_path, "shot,along,cross (cm)\n1,300,1\n", units={"along": "cm"}).shots) == 1


def test_missing_unit_in_some_cells_is_told_by_row(tmp_path):
    reading = read(tmp_path, "shot,along\n1,300 cm\n2,310\n")

    assert [s.along for s in reading.shots] == [3.0]
    assert reading.problems[0].row == 3
    assert "'310' has no unit" in reading.problems[0].reason


def test_wrong_unit_in_the_header(tmp_path):
    with pytest.raises(
        BadInput, match=r"shots.csv, row 1, along: 'kg' in the header 'along \(kg\)' is not a unit"
    ):
        read(tmp_path, "along (kg)\n3\n")


def test_comments_titles_blank_lines_and_trailing_columns(tmp_path):
    text = (
        "Trial in the gym,,,,\n\n# doors shut\nshot,along (m),cross (m),,\n#1,3.2,0.1,,\n"
        '# broke for lunch\n\n,,,,\n#2,3.1,"0.2",,\n'
    )
    reading = read(tmp_path, text)

    assert reading.problems == ()
    assert [(s.order, s.source) for s in reading.shots] == [(1, "shots.csv row 5"), (2, "shots.csv row 9")]
    assert "comment lines: row 6" in reading.notes


def test_header_behind_a_comment_mark(tmp_path):
    assert [s.along for s in read(tmp_path, "# shot,along (m),cross (m)\n1,3,0\n").shots] == [3.0]


def test_quotes_and_line_breaks_in_a_remark(tmp_path):
    reading = read(tmp_path, 'along (m),remark\n3,"hit the ""rim"",\nthen out"\nbad,\n')

    assert reading.shots[0].remark == 'hit the "rim",\nthen out'
    assert reading.problems[0].row == 3  # a spreadsheet shows the remark in one row


def test_separator_line_of_spreadsheets(tmp_path):
    reading = read(tmp_path, "sep=;\nalong (m);cross (m)\n3,5;0\n")

    assert reading.shots[0].along == 3.5
    assert reading.shots[0].source == "shots.csv row 2"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("\n\n  \n", "is empty"),
        ("a,b\n1,2\n", "no column holds a mark or a launch value; found: a, b"),
        ("shot,ball\n1,A\n", "no column holds a mark"),
        ("along (m),distance (m)\n1,2\n", "'along (m)' and 'distance (m)' both mean along; say which"),
        ('along (m),remark\n3,"open\n4,x\n', "a quotation mark is opened and never closed"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00", "is not a table"),
        (b"PK\x03\x04 but no archive", "damaged XLSX file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old XLS format"),
    ],
)
def test_files_that_are_no_shot_table(tmp_path, text, said):
    with pytest.raises(BadInput) as caught:
        read(tmp_path, text, trial="first")

    assert said in str(caught.value)
    assert str(caught.value).startswith("shots.csv")


def test_missing_file_and_folder(tmp_path):
    with pytest.raises(BadInput, match="there is no such file"):
        read_shot_table(tmp_path / "none.csv", trial="T")
    with pytest.raises(BadInput, match="is a folder"):
        read_shot_table(tmp_path, trial="T")


def test_neither_trial_nor_prototype(tmp_path):
    (tmp_path / "a.csv").write_text("along (m)\n3\n")
    with pytest.raises(BadInput, match="no column names the trial or the prototype"):
        read_shot_table(tmp_path / "a.csv")


@pytest.mark.parametrize(
    ("kwargs", "said"),
    [
        ({"columns": {"along": "reich"}}, "there is no column 'reich' for along; did you mean 'reach (m)'"),
        ({"columns": {"width": "reach (m)"}}, "'width' is not a name of ours"),
        ({"units": {"cross": "cm"}}, "there is no such column"),
        ({"units": {"along": "kg"}}, "'kg' is not a unit of length"),
        ({"units": {"ball": "cm"}}, "ball has no unit"),
    ],
)
def test_wrong_names_from_the_caller(tmp_path, kwargs, said):
    with pytest.raises(BadInput) as caught:
        read(tmp_path, "reach (m),ball\n3,A\n", **kwargs)

    assert said in str(caught.value)


@pytest.mark.parametrize("shots", [0, 1])
def test_a_trial_of_no_or_one_shot_is_a_table(tmp_path, shots):
    reading = read(tmp_path, "along (m),cross (m)\n" + "3,0\n" * shots, prototype="P")

    assert len(reading.shots) == shots
    assert reading.problems == ()


def test_same_file_gives_the_same_shots_and_another_row_another_uid(tmp_path):
    one, again = read(tmp_path, PLAIN), read(tmp_path, PLAIN)
    changed = read(tmp_path, PLAIN.replace("311", "312"))

    assert [s.uid for s in one.shots] == [s.uid for s in again.shots]
    assert one.shots[0].uid == changed.shots[0].uid
    assert one.shots[1].uid != changed.shots[1].uid
    assert len({s.uid for s in read(tmp_path, "along (m)\n3\n3\n3\n").shots}) == 3


def test_uid_column_is_kept(tmp_path):
    reading = read(tmp_path, "uid,along (m)\nk7,3\nk8,3\nk7,4\n")

    assert [s.uid for s in reading.shots] == ["k7", "k8"]
    assert str(reading.problems[0]) == "row 4, uid: 'k7' is in row 2 already"
