"""`report`: the hand-over of a recorded incident, to read, print, speak or pass on as data."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.commands.opening import UserError, kit_of, notice
from assistant.commands.recording import passphrase_from

if TYPE_CHECKING:
    from assistant.report.summary import Summary
    from assistant.report.written import Source

HELP = "the hand-over of a recorded incident: terminal, Markdown, HTML, PDF, spoken, radio, FHIR, CSV"
FORMS = ("terminal", "spoken", "radio", "markdown", "html", "pdf", "fhir", "csv", "jsonl")


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("incident", nargs="?", type=Path, metavar="FILE", help="a record, or its JSON lines")
    parser.add_argument("--as", dest="form", choices=FORMS, default="terminal", help="in which form (default terminal)")
    parser.add_argument("--order", choices=["ATMIST", "SBAR"], default="ATMIST", help="the order of the hand-over")
    parser.add_argument("--out", type=Path, metavar="FILE", help="write to FILE instead of printing")
    parser.add_argument("--record", type=Path, metavar="DIR", help="where the records lie (default: your data folder)")
    parser.add_argument("--list", action="store_true", help="list the records there are")
    parser.add_argument("--speak", action="store_true", help="say the spoken or radio form aloud")
    parser.add_argument("--locked", action="store_true", help="the record is encrypted: ask for its passphrase")
    parser.add_argument("--forget", action="store_true", help="remove the record, after asking")
    parser.add_argument("--yes", action="store_true", help="with --forget: do not ask")
    parser.add_argument("--kit", type=Path, metavar="FILE.toml", help="reckon with this kit, not the one on record")


def run(args: Namespace) -> int:
    """List, forget or report."""
    if args.list:
        return _list(args)
    path = args.incident or _latest(args)
    if args.forget:
        return _forget(path, sure=args.yes)
    source = _source(path, passphrase_from(args))
    for line in source.notices:
        notice(line)
    return _report(args, source)


def _report(args: Namespace, source: Source) -> int:
    from assistant.report.written import ReportError, summary_of, written

    try:
        summary = summary_of(source, kit=kit_of(args) if args.kit is not None else None)
        if args.form == "terminal" and args.out is None:
            _print(summary, args)
            return 0
        content = written(args.form, summary, source, args.order)
    except ReportError as error:
        raise UserError(str(error)) from error
    _put_out(content, args)
    return 0


def _print(summary: Summary, args: Namespace) -> None:
    from rich.console import Console

    from assistant.report.terminal import terminal

    Console(highlight=False).print(terminal(summary, args.order))


def _put_out(content: bytes, args: Namespace) -> None:
    if args.out is not None:
        try:
            args.out.write_bytes(content)
        except OSError as error:
            raise UserError(f"{args.out}: cannot be written ({error.strerror})") from error
    elif args.form == "pdf" and sys.stdout.isatty():
        raise UserError("a PDF is no text for a terminal: give --out FILE.pdf")
    else:
        sys.stdout.buffer.write(content)
        sys.stdout.flush()
    if args.speak and args.form in ("spoken", "radio"):
        from assistant.speaking.mouth import open_mouth

        open_mouth(notice=notice).speak(content.decode())


def _source(path: Path, passphrase: str | None) -> Source:
    """A record, or an incident as JSON lines (`.jsonl`)."""
    from assistant.journal import JournalError, read
    from assistant.report.written import ReportError, from_lines

    try:
        # By its name and not by a look inside: opening a record beside SQLite would drop a running program's locks.
        return from_lines(path) if path.suffix == ".jsonl" else read(path, passphrase=passphrase)
    except OSError as error:
        raise UserError(f"{path}: cannot be read ({error.strerror})") from error
    except (JournalError, ReportError) as error:
        raise UserError(str(error)) from error


def _folder(args: Namespace) -> Path:
    from assistant.journal import default_folder

    return Path(args.record) if args.record is not None else default_folder()


def _latest(args: Namespace) -> Path:
    from assistant.journal import incidents

    found = [each.path for each in incidents(_folder(args)) if each.trouble is None]
    if not found:
        raise UserError(f"there is no record in {_folder(args)}; name a file, or make one with chat or listen")
    return found[0]


def _list(args: Namespace) -> int:
    from assistant.journal import incidents

    for each in incidents(_folder(args)):
        state = each.trouble or ("ended" if each.finished else "open") + (", encrypted" if each.sealed else "")
        print(f"{each.path}  {each.began[:16].replace('T', ' ')}  {each.events} entries  {state}")
    return 0


def _forget(path: Path, *, sure: bool) -> int:
    from assistant.journal import JournalError, forget

    if not sure:
        print(f"Remove {path} for good? Type yes: ", end="", file=sys.stderr, flush=True)
        if sys.stdin.readline().strip().lower() != "yes":
            notice("Kept.")
            return 0
    try:
        removed = forget(path)
    except JournalError as error:
        raise UserError(str(error)) from error
    if not removed:
        raise UserError(f"{path}: there is no such record")
    notice(f"Removed {', '.join(each.name for each in removed)}.")
    return 0
