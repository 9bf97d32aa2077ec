"""Reading files: includes, what is refused, fragments, and unsaved buffers."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from loomwright.model import load as loading
from loomwright.model.files import LARGEST, FileTrouble, read_file
from loomwright.model.load import Loaded, load

HEAD = 'fitout "x" { stage planned; system 12 V }\n'


def write(folder: Path, **files: str) -> None:
    for name, text in files.items():
        (folder / f"{name}.fitout").write_text(text, encoding="utf-8")


def read(path: Path) -> Loaded:
    return load(path.read_text(encoding="utf-8"), str(path))


def said(loaded: Loaded) -> list[str]:
    return [
        f"{os.path.basename(each.span.source.path)}:{each.span.line}: {each.message}"
        for each in loaded.problems
    ]


def test_a_file_and_its_includes_are_one_namespace(tmp_path: Path) -> None:
    write(
        tmp_path,
        root=HEAD + 'include "parts.fitout"\nbattery b in bay is agm',
        parts="part battery agm { chemistry agm }\nplace bay",
    )
    loaded = read(tmp_path / "root.fitout")
    assert said(loaded) == []
    assert loaded.installation is not None
    assert [device.name for device in loaded.installation.devices] == ["b"]
    assert [os.path.basename(each.source.path) for each in loaded.documents] == [
        "root.fitout",
        "parts.fitout",
    ]


def test_an_include_is_relative_to_its_own_file_and_shown_as_the_user_wrote_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / ".git").mkdir()
    (tmp_path / "jobs").mkdir()
    (tmp_path / "shop").mkdir()
    write(tmp_path / "jobs", root=HEAD + 'include "../shop/one.fitout"')
    write(tmp_path / "shop", one='include "two.fitout"', two="place bay\nplace bay")
    monkeypatch.chdir(tmp_path)
    loaded = load((tmp_path / "jobs/root.fitout").read_text(), "jobs/root.fitout")
    assert [each.span.source.path for each in loaded.problems] == ["shop/two.fitout"]


def test_a_slip_in_an_include_is_at_its_own_place_and_both_places_are_named(tmp_path: Path) -> None:
    write(tmp_path, root=HEAD + "place bay\n" + 'include "more.fitout"', more="\nplace bay")
    (problem,) = read(tmp_path / "root.fitout").problems
    assert (os.path.basename(problem.span.source.path), problem.span.line) == ("more.fitout", 2)
    assert "root.fitout:2" in problem.hint


def test_practice_holds_for_the_runs_of_its_own_file(tmp_path: Path) -> None:
    own = "place bay\nbattery b in bay\nload l in bay\npractice { sleeve braid }\nfeed f from b.pos to l.pos { along bay 1 m }"
    write(
        tmp_path,
        root=HEAD + own + '\ninclude "more.fitout"',
        more="feed g from b.pos to l.pos { along bay 1 m }",
    )
    installation = read(tmp_path / "root.fitout").installation
    assert installation is not None
    sleeves = {run.name: installation.stretches_of[run][0].sleeve for run in installation.runs}  # type: ignore[index]
    assert sleeves == {"f": "braid", "g": None}


# ---------------------------------------------------------------- what is refused


def test_a_cycle_is_named_with_the_files_it_goes_through(tmp_path: Path) -> None:
    write(
        tmp_path, root=HEAD + 'include "a.fitout"', a='include "b.fitout"', b='place bay\ninclude "a.fitout"'
    )
    (message,) = said(read(tmp_path / "root.fitout"))
    assert message.startswith("b.fitout:2: 'a.fitout' can't be included: it includes itself, by way of")


def test_a_file_that_two_files_share_is_taken_once(tmp_path: Path) -> None:
    write(
        tmp_path,
        root=HEAD + 'include "a.fitout"\ninclude "b.fitout"',
        a='include "c.fitout"',
        b='include "c.fitout"',
        c="place bay",
    )
    loaded = read(tmp_path / "root.fitout")
    assert said(loaded) == []
    assert len(loaded.documents) == 4


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("gone.fitout", "there is no such file"),
        ("folder", "it is a folder"),
        ("../outside.fitout", "it lies outside the project folder"),
        ("link.fitout", "it lies outside the project folder"),
        ("pipe", "it is no plain file"),
        ("/etc/hostname", "never from the root of the disk"),
        ("latin.fitout", "it is not UTF-8 text (byte 8)"),
        (" ", "it names no file"),
    ],
)
def test_what_is_no_spec_of_the_project_is_refused(tmp_path: Path, written: str, reason: str) -> None:
    project = tmp_path / "project"
    (project / "folder").mkdir(parents=True)
    (tmp_path / "outside.fitout").write_text("place bay")
    (project / "link.fitout").symlink_to(tmp_path / "outside.fitout")
    os.mkfifo(project / "pipe")
    (project / "latin.fitout").write_bytes("place h\xfc".encode("latin-1"))
    write(project, root=HEAD + f'include "{written}"\nload l in bay')
    messages = said(read(project / "root.fitout"))
    assert messages[0].startswith(f"root.fitout:2: '{written}' can't be included: ")
    assert reason in messages[0]
    assert len(messages) == 2  # the rest of the file is still read


def test_a_device_is_refused(tmp_path: Path) -> None:
    (tmp_path / "null.fitout").symlink_to(os.devnull)
    write(tmp_path, root=HEAD + 'include "null.fitout"')
    assert "outside the project folder" in said(read(tmp_path / "root.fitout"))[0]


def test_a_symbolic_link_within_the_project_is_followed(tmp_path: Path) -> None:
    write(tmp_path, root=HEAD + 'include "link.fitout"\nload l in bay', real="place bay")
    (tmp_path / "link.fitout").symlink_to(tmp_path / "real.fitout")
    assert said(read(tmp_path / "root.fitout")) == []


@pytest.mark.parametrize("marker", ["loomwright.toml", ".git"])
def test_the_project_reaches_up_to_its_marker(tmp_path: Path, marker: str) -> None:
    (tmp_path / marker).touch()
    (tmp_path / "jobs").mkdir()
    write(tmp_path, parts="place bay")
    write(tmp_path / "jobs", root=HEAD + 'include "../parts.fitout"')
    assert said(read(tmp_path / "jobs/root.fitout")) == []


def test_includes_go_only_so_deep(tmp_path: Path) -> None:
    for number in range(40):
        (tmp_path / f"f{number}.fitout").write_text(f'include "f{number + 1}.fitout"')
    write(tmp_path, root=HEAD + 'include "f0.fitout"')
    (message,) = said(read(tmp_path / "root.fitout"))
    assert message.endswith(f"includes go deeper than {loading.DEEPEST} files")


def test_a_file_that_is_too_large_is_refused_whole(tmp_path: Path) -> None:
    write(tmp_path, root=HEAD + 'include "huge.fitout"', huge="#" * (LARGEST + 1))
    assert "larger than 8 MB" in said(read(tmp_path / "root.fitout"))[0]
    assert "larger than 8 MB" in load("#" * (LARGEST + 1), None).problems[0].message


def test_a_head_in_an_included_file_is_refused(tmp_path: Path) -> None:
    write(tmp_path, root=HEAD + 'include "more.fitout"', more=HEAD)
    assert said(read(tmp_path / "root.fitout")) == [
        "more.fitout:1: an included file has no 'fitout' of its own"
    ]


def test_a_text_without_a_file_can_include_nothing() -> None:
    loaded = load(HEAD + 'include "x.fitout"', None)
    assert "has no file of its own" in loaded.problems[0].message
    assert loaded.problems[0].span.source.path == "-"


def test_a_file_that_a_user_names_is_named_when_it_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match=r"gone\.fitout can't be read: there is no such file"):
        read_file(str(tmp_path / "gone.fitout"))


# ---------------------------------------------------------------- fragments and buffers


def test_a_fragment_is_told_apart_and_its_own_slips_are_reported(tmp_path: Path) -> None:
    text = "feed f from crank.pos to tap.pos { along bay 1 m; loom spine }\nload a in bay\nload a in bay\nplace p { ambient 1 A }"
    loaded = load(text, str(tmp_path / "x.fitout"))
    assert loaded.fragment
    assert loaded.installation is None
    assert [problem.span.line for problem in loaded.problems] == [3, 4]


def test_a_head_that_cannot_be_read_does_not_make_a_fragment() -> None:
    loaded = load("fitout { stage planned }\nload a in bay", None)
    assert not loaded.fragment
    assert loaded.installation is None


def test_an_editors_unsaved_buffer_is_read_before_the_disk(tmp_path: Path) -> None:
    write(tmp_path, root=HEAD + 'include "parts.fitout"\nload l in bay', parts="place old")
    asked: list[str] = []

    def buffer(path: str) -> str | None:
        asked.append(path)
        return "place bay"

    loaded = load((tmp_path / "root.fitout").read_text(), str(tmp_path / "root.fitout"), buffer)
    assert loaded.problems == ()
    assert asked == [os.path.realpath(tmp_path / "parts.fitout")]


def test_a_byte_order_mark_and_crlf_are_accepted() -> None:
    text = "\ufeff" + HEAD.replace("\n", "\r\n") + "place bay\r\n"
    assert load(text, None).problems == ()
