"""A sheet that is right passes; one that differs from what was meant in any single thing does not."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.errors import VerificationError
from render.geometry import Path
from render.model import Hold, Jig, Operation, Sheet, Stock
from render.sheets import SecondReader, inspect_sheet, verify_sheet
from render.sheets.burn import finished
from render.sheets.layout import LayoutOptions, Turn, layout
from tests.sheets.verified import BED, findings

TO_SET = "Rotary: a turn is 126 mm of the y axis\nMind: never a sealed vessel"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.fixture(scope="module")
def sheets(make) -> dict[str, Sheet]:
    """A sheet of stock, one with turned pieces, a jig with guides, a rotary run."""
    ready = make.tag(hold=Hold.JIG)
    jig = Jig("nest", "Jig", 2, 2, (10, 10), (50, 30))
    in_jig = layout(
        finished([make.lettered(f"p{n}", ready) for n in (2, 3, 4)], ready), ready, make.machine(), jig=jig
    )
    body = make.RoundBody(40, 20)
    mug = make.tag(hold=Hold.ROTARY, body=body)
    bench = make.machine(rotary=make.Rotary(make.RotaryKind.ROLLER, 0, "x"))
    return {
        "stock": make.sheet_of(4),
        "turned": make.sheet_of(3, turn=Turn.ALWAYS),
        "jig": in_jig.sheets[0],
        "rotary": replace(layout([make.lettered("p2", mug)], mug, bench).sheets[0], settings=TO_SET),
    }


@pytest.fixture(scope="module")
def texts(make, sheets) -> dict[str, str]:
    return {name: make.tiny_svg(sheet) for name, sheet in sheets.items()}


@pytest.mark.parametrize("kind", ["stock", "turned", "jig", "rotary"])
def test_what_was_meant_passes_every_check(kind, sheets, texts):
    found = verify_sheet(texts[kind].encode(), sheets[kind], BED, thorough=True)
    assert found.ok
    assert found.pieces == len(sheets[kind].placements) == len(found.sampled)
    assert found.points == sum(len(m.path.points) for p in sheets[kind].placements for m in p.artwork.marks)


@settings(max_examples=60)
@given(data=st.data())
def test_any_one_coordinate_off_by_a_micrometre_is_found(data, sheets, texts):
    kind = data.draw(st.sampled_from(sorted(sheets)))
    text = texts[kind]
    spans = [
        (path.start(1) + number.start(), path.start(1) + number.end())
        for path in re.finditer(r' d="([^"]*)"', text)
        for number in NUMBER.finditer(path[1])
    ]
    start, end = data.draw(st.sampled_from(spans))
    by = data.draw(st.sampled_from((-0.001, 0.001)))
    changed = f"{text[:start]}{float(text[start:end]) + by:.3f}{text[end:]}"
    codes = findings(changed, sheets[kind])
    assert codes & {"digest", "guide"}


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("126 mm", "125 mm", "settings"),
        (f"<desc>{TO_SET}</desc>\n", "", "settings"),
        ("</desc>", "</desc><desc>Set: full power</desc>", "settings"),
        ("</desc>", "<title>x</title></desc>", "unreadable"),
        ("<desc>", '<desc onload="x()">', "unreadable"),
        ("</title>", " twice</title>", "title"),
    ],
)
def test_what_a_person_sets_is_as_it_was_meant(sheets, texts, old: str, new: str, code: str) -> None:
    changed = texts["rotary"].replace(old, new, 1)
    assert changed != texts["rotary"]
    assert findings(changed, sheets["rotary"]) == {code}
    assert "settings" in findings(texts["rotary"], replace(sheets["rotary"], settings=""))


def swapped(text: str, one: str, other: str) -> str:
    return text.replace(one, "\0").replace(other, one).replace("\0", other)


def group(text: str, name: str) -> str:
    found = re.search(rf'<g id="{name}".*?</g>\n', text, re.DOTALL)
    assert found
    return found[0]


def block(text: str, operation: str) -> str:
    found = re.search(rf'<g id="{operation}" .*?</g>\n</g>\n', text, re.DOTALL)
    assert found
    return found[0]


def swap_groups(text: str, one: str, other: str) -> str:
    return swapped(text, group(text, one), group(text, other))


def contour_reversed(text: str) -> str:
    """The hole of the first piece begun elsewhere: the same shape, another path."""
    old = re.search(r'<path d="(M[^"]*)"', group(text, "p2-cut"))[1]
    curves = re.findall("C[^CZ]*", old)
    new = "M" + " ".join(curves[0].split()[-2:]) + "".join(curves[1:] + curves[:1]) + "Z"
    return text.replace(old, new)


Mutation = Callable[[str], str]
MUTATIONS: dict[str, tuple[Mutation, str]] = {
    "a path dropped": (lambda t: re.sub(r'<path d="[^"]*"/>\n', "", t, count=1), "digest"),
    "the last path dropped": (lambda t: t[: t.rindex("<path")] + t[t.rindex("</g>\n</g>") :], "digest"),
    "a path doubled": (lambda t: re.sub(r'(<path d="[^"]*"/>\n)', r"\1\1", t, count=1), "digest"),
    "a group dropped": (lambda t: t.replace(group(t, "p3-score"), ""), "missing"),
    "a group doubled": (lambda t: t.replace(group(t, "p3-score"), 2 * group(t, "p3-score")), "extra"),
    "a piece dropped": (lambda t: re.sub(r'<g id="p4-.*?</g>\n', "", t, flags=re.DOTALL), "missing"),
    "a foreign piece": (lambda t: t.replace('id="p3-cut"', 'id="p33-cut"'), "extra"),
    "two pieces swapped by name": (lambda t: swapped(t, '"p2-engrave"', '"p3-engrave"'), "digest"),
    "two pieces swapped in order": (lambda t: swap_groups(t, "p2-engrave", "p3-engrave"), "order"),
    "titles swapped": (lambda t: swapped(t, "p2: Name p2", "p3: Name p3"), "title"),
    "a title dropped": (lambda t: re.sub("<title>.*?</title>\n", "", t, count=1), "title"),
    "operations swapped": (lambda t: swapped(t, block(t, "score"), block(t, "cut")), "order"),
    "operations renamed": (lambda t: swapped(t, 'id="score"', 'id="cut"'), "extra"),
    "an operation unknown": (lambda t: t.replace('<g id="cut"', '<g id="slice"'), "order"),
    "a group moved to another operation": (
        lambda t: t.replace(group(t, "p2-score"), "").replace(
            group(t, "p2-cut"), group(t, "p2-score") + group(t, "p2-cut")
        ),
        "extra",
    ),
    "a colour changed": (lambda t: t.replace('stroke="#303030"', 'stroke="#303031"'), "colour"),
    "colours swapped": (lambda t: swapped(t, "#202020", "#303030"), "colour"),
    "one path's colour changed": (lambda t: t.replace("<path ", '<path stroke="#202020" ', 1), "colour"),
    "an area drawn as a line": (lambda t: t.replace('fill="#101010"', 'fill="none"'), "colour"),
    "counters filled by the other rule": (
        lambda t: t.replace("<path ", '<path fill-rule="evenodd" ', 1),
        "colour",
    ),
    "an area split from its counter": (
        lambda t: re.sub(r'(<path d="M[^M"]*)(M[^"]*")', r'\1"/>\n<path d="\2', t, count=1),
        "split",
    ),
    "two cuts joined": (
        lambda t: t.replace(group(t, "p2-cut"), re.sub(r'"/>\n<path d="', "", group(t, "p2-cut"), count=1)),
        "joined",
    ),
    "an engraved contour opened": (lambda t: t.replace('Z"', '"', 1), "open"),
    "the last cut opened": (lambda t: t[: t.rindex("Z")] + t[t.rindex("Z") + 1 :], "open"),
    "a score closed": (
        lambda t: t.replace(group(t, "p2-score"), group(t, "p2-score").replace('"/>', 'Z"/>')),
        "open",
    ),
    "inner after outer": (
        lambda t: re.sub(r'(<path d="[^"]*"/>\n)(<path d="[^"]*"/>\n)(</g>\n</g>\n</svg>)', r"\2\1\3", t),
        "inner-last",
    ),
    "a contour begun elsewhere": (contour_reversed, "digest"),
    "a line made a curve": (lambda t: re.sub(r"L(\S+ [^A-Z]+)", r"Q\1 \1", t, count=1), "digest"),
    "the sheet wider": (lambda t: t.replace('width="300mm"', 'width="300.001mm"'), "size"),
    "no unit": (lambda t: t.replace('width="300mm"', 'width="300"'), "size"),
    "another unit": (lambda t: t.replace('width="300mm"', 'width="300px"'), "size"),
    "the view box larger": (lambda t: t.replace('"0 0 300 200"', '"0 0 300 201"'), "size"),
    "the view box moved": (lambda t: t.replace('"0 0 300 200"', '"1 0 300 200"'), "size"),
    "no view box": (lambda t: t.replace('viewBox="0 0 300 200"', ""), "size"),
}


@pytest.mark.parametrize("name", MUTATIONS)
def test_each_mutation_is_found(name, sheets, texts):
    mutate, code = MUTATIONS[name]
    changed = mutate(texts["stock"])
    assert changed != texts["stock"]
    assert code in findings(changed, sheets["stock"])
    with pytest.raises(VerificationError, match="not what was meant") as told:
        verify_sheet(changed.encode(), sheets["stock"], BED)
    assert told.value.hint


def before_end(what: str) -> Mutation:
    return lambda t: t.replace("</svg>", f"{what}</svg>")


def on_first(element: str, attribute: str) -> Mutation:
    return lambda t: t.replace(f"<{element} ", f"<{element} {attribute} ", 1)


FOREIGN: dict[str, Mutation] = {
    **{
        f"{attribute} on {element}": on_first(element, attribute)
        for element in ("svg", "g", "path")
        for attribute in (
            'transform="translate(0 0)"',
            'style="fill:red"',
            'class="x"',
            'opacity="0"',
            'display="none"',
            'clip-path="url(#x)"',
            'onclick="x()"',
            'preserveAspectRatio="none"',
            'data-x="1"',
            'xml:base="x"',
        )
    },
    **{
        what: before_end(what)
        for what in (
            "<text>Ada</text>",
            "<style>path{}</style>",
            "<script/>",
            "<defs/>",
            '<rect width="1" height="1"/>',
            '<path d="M0 0L1 1"/>',
            '<image width="1" height="1"/>',
            "<clipPath/>",
            "<g><g><g/></g></g>",
            '<g id="x"><path d="M0 0L1 1"/></g>',
            '<other xmlns="http://example.org/"/>',
            '<g xmlns="http://example.org/"/>',
            "<title><b/></title>",
            "loose words",
            "<![CDATA[x]]>",
            "<?x y?>",
        )
    },
    "words in a group": lambda t: t.replace('<g id="p2-cut">', '<g id="p2-cut">words'),
    "an element in a path": lambda t: t.replace("/>", "><title/></path>", 1),
    "a document type": lambda t: t.replace("<svg", "<!DOCTYPE svg><svg", 1),
    "an entity": lambda t: t.replace("<svg", '<!DOCTYPE svg [<!ENTITY x "y">]><svg', 1),
    "a style sheet": lambda t: t.replace("<svg", '<?xml-stylesheet href="x.css"?><svg', 1),
    "not XML": lambda t: t.replace("</svg>", ""),
    "not SVG": lambda t: t.replace("http://www.w3.org/2000/svg", "http://example.org/svg"),
    "empty": lambda _: "",
    **{
        f"path data {new}": lambda t, new=new: re.sub(r'd="M(\S+) ', f'd="{new}', t, count=1)
        for new in (
            "m\\1 ",
            "M\\1e0 ",
            "M\\g<1>0001 ",
            "M+\\1 ",
            "M\\1. ",
            "M1.2.3 ",
            "M\\1 ,, ",
            "M1,\\1, ",
            "M\\1 --",
            "M\\1 - ",
            "MNaN ",
            "M\\1 1 ",
            "L\\1 ",
            "1 M\\1 ",
            "M0 0M\\1 ",
            "M0 0ZM\\1 ",
            "M0 0L1 1ZL2 2M\\1 ",
            "M0 0H1M\\1 ",
            "M0 0A1 1 0 0 0 1 1M\\1 ",
            "M0 0QM\\1 ",
            "M٣ ",
            "M1000000000000000000000 ",
        )
    },
    "no path data": lambda t: re.sub(r'd="[^"]*"', "", t, count=1),
    "empty path data": lambda t: re.sub(r'd="[^"]*"', 'd=" "', t, count=1),
}


@pytest.mark.parametrize("name", FOREIGN)
def test_nothing_but_plain_paths_is_accepted(name, sheets, texts):
    changed = FOREIGN[name](texts["stock"])
    assert changed != texts["stock"]
    assert findings(changed, sheets["stock"]) & {"unreadable", "colour", "extra", "order"}


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32"])
def test_only_utf_8_is_accepted(encoding, sheets, texts):
    text = texts["stock"].replace("UTF-8", encoding.upper())
    assert findings(text.encode(encoding), sheets["stock"]) == {"unreadable"}


def test_comments_and_other_spacing_change_nothing(sheets, texts):
    text = texts["stock"].replace("</svg>", "<!-- laid out by hand -->\n\n</svg>")
    text = re.sub(r"(?<=\d) (?=\d)", ",", text).replace("L", "\n L ").replace("0,0,300,200", "0 0 300 200")
    text = re.sub(r"(?<=[, \n])0\.(?=\d)", ".", text)
    assert findings(text, sheets["stock"]) == set()


def test_repeated_commands_may_be_left_out(sheets, texts):
    """SVG 1.1, 8.3.2: after M come lines, after any other command more of the same."""
    text = texts["stock"]
    shorter = re.sub(r"L([^A-Z\"]*)(?=L)", r"L\1 ", text)
    shorter = re.sub(r"(?<=[\d ])L(?=[\d.-]+ [\d.-]+L)", " ", shorter)
    shorter = re.sub(r"(M[^A-Z\"]*)L", r"\1 ", shorter)
    assert shorter != text
    assert findings(shorter, sheets["stock"]) == set()


def test_a_sheet_larger_than_the_bed_is_refused(sheets, texts):
    found = inspect_sheet(texts["stock"].encode(), sheets["stock"], (299.999, 400))
    assert [f.code for f in found.findings] == ["off-bed"]


def test_digests_do_not_hide_a_wrong_area(make, monkeypatch):
    """The engraved area is compared with the artwork before rounding, whatever digests say."""
    sheet = make.sheet_of(2)
    text = make.tiny_svg(sheet)
    first = sheet.placements[0]
    marks = list(first.artwork.marks)
    at = next(i for i, m in enumerate(marks) if m.operation is Operation.ENGRAVE)
    points = marks[at].path.points.copy()
    points[2] += 0.3 + 0.2j
    marks[at] = replace(marks[at], path=Path(marks[at].path.commands, points))
    other = replace(first, artwork=replace(first.artwork, marks=tuple(marks)))
    meant = replace(sheet, placements=(other, *sheet.placements[1:]))
    assert findings(text, meant) == {"digest", "area"}


def test_a_sample_is_spread_over_the_sheet(make):
    sheet = make.sheet_of(9)
    with SecondReader() as second:
        found = verify_sheet(make.tiny_svg(sheet).encode(), sheet, BED, second=second)
    assert found.sampled == ("p2", "p6", "p10")


def test_a_second_reader_that_reads_otherwise_is_heard(make, monkeypatch):
    sheet = make.sheet_of(2)
    from render.sheets import verify

    def askew(items):
        readings = real(items)
        readings[0]["segments"][0][0] += 1e-6
        return readings

    real = verify.read_with_svgpathtools
    monkeypatch.setattr(verify, "read_with_svgpathtools", askew)
    assert findings(make.tiny_svg(sheet), sheet) == {"second"}


def test_strange_ids_and_titles_are_found_again(make):
    blank = make.tag()
    art = replace(make.lettered("p2", blank), piece="p 2/ä", title="Zoë\t\x07 <b> & \u202e")
    found = layout(finished([art], blank), blank, make.machine(), options=LayoutOptions())
    sheet = found.sheets[0]
    writer = pytest.importorskip("render.writers.svg")
    assert findings(writer.sheet_svg(sheet), sheet, thorough=True) == set()


@pytest.mark.parametrize("kind", ["stock", "turned", "jig", "rotary"])
def test_the_real_writer_passes(kind, sheets):
    writer = pytest.importorskip("render.writers.svg")
    assert findings(writer.sheet_svg(sheets[kind]), sheets[kind], thorough=True) == set()
    plain = replace(sheets[kind], colours={})
    assert findings(writer.sheet_svg(plain), plain) == set()


def test_a_file_is_read_from_disk_and_named(tmp_path, sheets, texts):
    file = tmp_path / "sheet-1.svg"
    file.write_text(texts["stock"], "utf-8")
    assert verify_sheet(file, sheets["stock"], BED).ok
    file.write_text(texts["turned"], "utf-8")
    with pytest.raises(VerificationError, match=r"sheet-1.svg: .*And \d+ more"):
        verify_sheet(file, sheets["stock"], BED)


def test_the_gap_of_a_full_sheet_of_stock_is_exact(make):
    sheet = make.sheet_of(6)
    wider = replace(sheet, gap=2.002 + 0.001)
    assert findings(make.tiny_svg(sheet), wider) == {"too-near"}
    assert Stock(300, 200, 5, 2).gap == sheet.gap
