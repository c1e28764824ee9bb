"""Do hand-ins arrive whole and under the right name, from wherever they come, with nothing lost or let loose?"""

from __future__ import annotations

import io
import os
import stat
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tankside_autograder import collect
from tankside_autograder.classroom import Classroom, Issued, make_classroom
from tankside_autograder.collect import Gathered, GatherError, gather, read_manifest
from tankside_autograder.packages import SourceError
from tankside_autograder.roster import Learner, Roster
from tankside_autograder.whose import lab_from_names, learner_from_names, parse_time

from .fakelab import filled, raw

LABS = ["lab01", "lab02", "lab03"]
ROSTER = "id,name\nana,Ana Lis\nbo,Bo Ek\njo,Jo Ray\njo.doe,Jo Doe\nélan,Élan Vé\n"


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Classroom:
    def fake(data: bytes, key: str) -> str | None:
        return data.decode() if data.startswith(b"TW-") else None

    monkeypatch.setattr(collect, "order_id_in", fake)
    roster = tmp_path / "list.csv"
    roster.write_text(ROSTER, encoding="utf-8")
    room = make_classroom(tmp_path / "class", roster)
    room.ledger.add(*[Issued(f"TW-{who}", who, "lab03", "s", "2031-01-01", None, "t") for who in ("ana", "bo")])
    return room


def put(path: Path, data: bytes | str = b"", at: datetime | None = None) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    if at:
        os.utime(path, (at.timestamp(), at.timestamp()))
    return path


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def states(found: list[Gathered]) -> dict[str, tuple[str, str | None, str | None]]:
    return {g.label: (g.status, g.learner, g.lab) for g in found}


NB = raw(filled())


def test_every_shape(room: Classroom, tmp_path: Path) -> None:
    source = tmp_path / "in"
    put(source / "ana" / "lab03" / "lab03.ipynb", NB)
    put(source / "ana" / "lab03" / "work-order.json", "TW-ana")
    put(source / "ana" / "lab03" / "bench-log.jsonl", "{}")
    put(source / "ana" / "lab03" / ".ipynb_checkpoints" / "lab03-checkpoint.ipynb", b"old")
    put(source / "Bo Ek - lab 3 (1).zip", zipped({"lab03/lab03.ipynb": NB, "__MACOSX/x": b""}))
    put(source / "jo_lab03.ipynb", NB)
    put(source / "jo.doe+lab03+2031-03-14 17:00:00.5 UTC+ab12" / "lab03.ipynb", NB)
    put(source / "bulk.zip", zipped({"élan/Lab-02/lab02.ipynb": NB, "lab01/ana.zip": zipped({"x.ipynb": NB})}))
    before = {p: p.read_bytes() for p in source.rglob("*") if p.is_file()}
    found = states(gather(room, source, LABS))
    assert found == {
        "ana/lab03": ("new", "ana", "lab03"),
        "Bo Ek - lab 3 (1)/lab03/lab03.ipynb": ("new", "bo", "lab03"),
        "jo_lab03.ipynb": ("new", "jo", "lab03"),
        "jo.doe+lab03+2031-03-14 17:00:00.5 UTC+ab12/lab03.ipynb": ("new", "jo.doe", "lab03"),
        "bulk/élan/Lab-02/lab02.ipynb": ("new", "élan", "lab02"),
        "bulk/lab01/ana/x.ipynb": ("new", "ana", "lab01"),
    }
    assert {p: p.read_bytes() for p in source.rglob("*") if p.is_file()} == before
    manifest = read_manifest(room.handed_in("ana", "lab03"))
    assert manifest and sorted(manifest["files"]) == ["bench-log.jsonl", "lab03.ipynb", "work-order.json"]
    exchange = read_manifest(room.handed_in("jo.doe", "lab03"))
    assert exchange and exchange["received"] == "2031-03-14T17:00:00.500000+00:00"
    assert (room.handed_in("élan", "lab02") / "lab02.ipynb").read_bytes() == NB
    again = gather(room, source, LABS)
    assert {g.status for g in again} == {"unchanged"}


def test_two_hand_ins_by_one(room: Classroom, tmp_path: Path) -> None:
    first, second = datetime(2031, 3, 1, tzinfo=UTC), datetime(2031, 3, 2, tzinfo=UTC)
    source = tmp_path / "in"
    put(source / "ana_lab03.ipynb", raw(filled(figures="current = 2 A")), second)
    put(source / "older" / "ana_lab03.ipynb", raw(filled(figures="current = 1 A")), first)
    found = gather(room, source, LABS)
    assert [g.status for g in found] == ["new", "earlier"]
    manifest = read_manifest(room.handed_in("ana", "lab03"))
    assert manifest and manifest["received"] == second.isoformat()
    assert [e["source"] for e in manifest["earlier"]] == ["older/ana_lab03.ipynb"]
    kept = room.earlier("ana", "lab03") / manifest["earlier"][0]["folder"] / "lab03.ipynb"
    assert b"current = 1 A" in kept.read_bytes()
    # A third, newer one, gathered later.
    late = tmp_path / "more"
    put(late / "ana" / "lab03.ipynb", raw(filled(figures="current = 3 A")), datetime(2031, 3, 3, tzinfo=UTC))
    assert [g.status for g in gather(room, late, LABS)] == ["replaced"]
    assert b"current = 3 A" in (room.handed_in("ana", "lab03") / "lab03.ipynb").read_bytes()
    assert [g.status for g in gather(room, source, LABS)] == ["unchanged", "unchanged"]
    manifest = read_manifest(room.handed_in("ana", "lab03"))
    assert manifest and len(manifest["earlier"]) == 2


def test_unknown_and_known_by_order(room: Classroom, tmp_path: Path) -> None:
    source = tmp_path / "in"
    put(source / "zed" / "lab03.ipynb", NB)
    put(source / "my homework" / "final.ipynb", NB)
    put(source / "my homework" / "work-order.json", "TW-bo")
    put(source / "forged" / "lab03.ipynb", NB)
    put(source / "forged" / "work-order.json", "not genuine")
    found = states(gather(room, source, LABS))
    assert found["zed/lab03.ipynb"] == ("unplaced", None, "lab03")
    assert found["my homework"] == ("new", "bo", "lab03")
    assert found["forged"][0] == "unplaced"
    assert sum(p.name == "lab03.ipynb" for p in room.unplaced.rglob("*")) == 2


def test_empty_folders(room: Classroom, tmp_path: Path) -> None:
    source = tmp_path / "in"
    (source / "ana" / "lab03").mkdir(parents=True)
    put(source / "bo" / "lab03" / "essay.docx", b"x")
    (source / "nobody").mkdir()
    found = states(gather(room, source, LABS))
    assert found["ana/lab03"] == ("empty", "ana", "lab03") and found["bo/lab03"] == ("empty", "bo", "lab03")
    assert found["nobody"] == ("empty", None, None)
    manifest = read_manifest(room.handed_in("bo", "lab03"))
    assert manifest and "essay.docx" in manifest["problems"][0]["text"]
    # A real hand-in takes the place of an empty one, however old it is; an empty one never the other way round.
    put(source / "ana" / "lab03" / "lab03.ipynb", NB, datetime(2001, 1, 1, tzinfo=UTC))
    assert gather(room, source / "ana", LABS)[0].status == "unplaced"
    assert states(gather(room, source, LABS))["ana/lab03/lab03.ipynb"][0] == "replaced"


@pytest.mark.parametrize("name", ["../evil.ipynb", "/etc/evil.ipynb", "C:/evil.ipynb", "..\\evil.ipynb", "a/../../e.ipynb"])
def test_path_traversal(room: Classroom, tmp_path: Path, name: str) -> None:
    source = tmp_path / "in"
    put(source / "ana_lab03.zip", zipped({name: b"evil", "lab03.ipynb": NB}))
    found = gather(room, source, LABS)
    assert found[0].status == "new" and "leads out" in found[0].text
    assert not [p for p in tmp_path.rglob("*") if p.is_file() and p.read_bytes() == b"evil"]


def test_zip_link_bomb_lock_and_junk(room: Classroom, tmp_path: Path) -> None:
    source = tmp_path / "in"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        link = zipfile.ZipInfo("lab03.ipynb")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
    put(source / "ana_lab03.zip", out.getvalue())
    zeros = b"0" * (30 * 1024 * 1024)
    put(source / "bo_lab03.zip", zipped({f"{n}.ipynb": zeros for n in range(8)}))
    put(source / "jo_lab03.zip", b"PK\x03\x04 not a zip")
    put(source / "jo.doe_lab03.zip", zipped({"lab03.ipynb": NB})[:-30])
    found = states(gather(room, source, LABS))
    assert found["ana_lab03.zip"] == ("empty", "ana", "lab03")
    assert found["bo_lab03.zip"] == ("refused", "bo", "lab03")
    manifest = read_manifest(room.handed_in("bo", "lab03"))
    assert manifest and manifest["refused"] == "too-big" and manifest["files"] == {}
    for who in ("jo", "jo.doe"):
        manifest = read_manifest(room.handed_in(who, "lab03"))
        assert manifest and manifest["refused"] == "broken-archive"
    # A refused upload never takes the place of one that can be opened.
    put(source / "more" / "jo_lab03.ipynb", NB, datetime(2001, 1, 1, tzinfo=UTC))
    assert states(gather(room, source, LABS))["more/jo_lab03.ipynb"][0] == "replaced"


def test_a_damaged_member_is_found_by_its_checksum(room: Classroom, tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr("lab03.ipynb", NB)
    put(tmp_path / "in" / "ana_lab03.zip", out.getvalue().replace(b"12.5", b"13.5"))
    found = gather(room, tmp_path / "in", LABS)
    assert found[0].status == "refused" and "can't be read" in found[0].text


def test_notebook_over_the_limit(room: Classroom, tmp_path: Path) -> None:
    path = put(tmp_path / "in" / "ana_lab03.ipynb", b"")
    with path.open("wb") as file:
        file.truncate(50 * 1024 * 1024 + 1)  # a sparse file: takes no room on the disk
    found = gather(room, tmp_path / "in", LABS)
    assert found[0].status == "refused" and "50 MB" in found[0].text


@pytest.mark.skipif(os.name == "nt", reason="links need special rights on Windows")
def test_links_are_not_followed(room: Classroom, tmp_path: Path) -> None:
    secret = put(tmp_path / "elsewhere" / "lab03.ipynb", b"secret")
    folder = tmp_path / "in" / "ana" / "lab03"
    folder.mkdir(parents=True)
    (folder / "lab03.ipynb").symlink_to(secret)
    (folder / "round").symlink_to(tmp_path / "in")
    found = gather(room, tmp_path / "in", LABS)
    assert [g.status for g in found] == ["empty"]
    assert b"secret" not in [p.read_bytes() for p in room.folder.rglob("*") if p.is_file()]


def test_stated_times(room: Classroom, tmp_path: Path) -> None:
    source = tmp_path / "in"
    put(source / "ana_lab03.ipynb", NB)
    put(source / "bo" / "lab03" / "lab03.ipynb", NB)
    put(source / "bo" / "lab03" / "timestamp.txt", "2031-03-14 18:00:00 UTC")
    put(source / "received.csv", "id,received\nANA,2031-03-14T19:00:00+01:00\n")
    gather(room, source, LABS)
    for who, told in (("ana", "received.csv"), ("bo", "timestamp.txt")):
        manifest = read_manifest(room.handed_in(who, "lab03"))
        assert manifest and manifest["received_from"] == told
        assert manifest["received"] == "2031-03-14T18:00:00+00:00"
    put(source / "received.csv", "id,received\nana,yesterday\n")
    with pytest.raises(GatherError, match=r"line 2.*yesterday"):
        gather(room, source, LABS)


def test_bad_sources(room: Classroom, tmp_path: Path) -> None:
    with pytest.raises(SourceError, match="nothing here"):
        gather(room, tmp_path / "none", LABS)
    with pytest.raises(SourceError, match="none of them"):
        gather(room, put(tmp_path / "a.txt"), LABS)
    with pytest.raises(GatherError, match="class folder itself"):
        gather(room, tmp_path, LABS)


def test_stopped_half_way_then_again(room: Classroom, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped while filing the second of three: a second run files all three."""
    source = tmp_path / "in"
    for who in ("ana", "bo", "jo"):
        put(source / f"{who}_lab03.ipynb", NB)
    real, calls = collect.write_json, []

    def stop(path: Path, data: object) -> Path:
        calls.append(path)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return real(path, data)

    monkeypatch.setattr(collect, "write_json", stop)
    with pytest.raises(KeyboardInterrupt):
        gather(room, source, LABS)
    monkeypatch.setattr(collect, "write_json", real)
    assert [g.status for g in gather(room, source, LABS)] == ["unchanged", "new", "new"]


PEOPLE = Roster(tuple(Learner(i, n) for i, n in [("ana", "Ana Lis"), ("jo", "Jo Ray"), ("jo.doe", "Jo Doe"),
                                                 ("7", "Sam Po"), ("1042", "Ida Po"), ("élan", "Élan Vé")]))  # fmt: skip


@pytest.mark.parametrize(
    ("names", "learner"),
    [
        (("lab03", "ana"), "ana"), (("lab03_ANA_final",), "ana"), (("jo.doe_lab03",), "jo.doe"), (("jo-lab03",), "jo"),
        (("Lis, Ana - lab 3",), "ana"), (("lab03 (7)",), None), (("7",), "7"), (("x_1042_y",), "1042"), (("banana",), None),
        (("ana and jo",), None), (("e\u0301lan",), "élan"), (("ana (2)",), "ana"), (("Po",), None), (("lab03", "ana-copy2"), "ana"),
    ],
)  # fmt: skip
def test_whose(names: tuple[str, ...], learner: str | None) -> None:
    found, _ = learner_from_names(names, PEOPLE)
    assert (found.id if found else None) == learner


@pytest.mark.parametrize(
    ("name", "lab"),
    [("lab03", "lab03"), ("Lab 3", "lab03"), ("ana_lab-03 (1)", "lab03"), ("lab30", None), ("slab03", None), ("lab1 lab2", None)],
)
def test_which_lab(name: str, lab: str | None) -> None:
    assert lab_from_names((name,), LABS) == lab


def test_times() -> None:
    assert parse_time("2031-03-14 17:00:00.5 UTC") == datetime(2031, 3, 14, 17, 0, 0, 500_000, tzinfo=UTC)
    assert parse_time("2031-03-14 17:00") is None and parse_time("soon") is None
