"""`check`: is this machine ready? Settings, language, kit, ears, voice, microphone, page, disk; each with a cure."""

from __future__ import annotations

import json
import shutil
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from assistant.commands.finding import Finding
from assistant.commands.opening import UserError, add_engine_options, bare_ears_from, setting_from

HELP = "is this machine ready; what to do where it is not"
# A day's incident takes a few megabytes; less room than this is asking for trouble.
ROOM_NEEDED_MB = 50


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("--json", action="store_true", help="print one JSON object a line")
    parser.add_argument("--settings", type=Path, metavar="FILE.toml", help="check these settings, not your own")
    parser.add_argument("--kit", type=Path, metavar="FILE.toml", help="also check this kit file")
    add_engine_options(parser)


def run(args: Namespace) -> int:
    """Check every part; 0 where all work, 1 where one does not."""
    from assistant.commands.check_live import (
        check_button,
        check_call_word,
        check_language,
        check_microphone,
        check_page,
        check_settings,
        check_voice,
    )

    settings, finding = check_settings(args)
    args.kit = args.kit or settings.kit
    args.engine = args.engine or settings.engine
    findings = [finding, check_language(settings), _kit(args), _ears(args), check_call_word(settings, args)]
    findings += [check_voice(settings), check_microphone(settings), check_button(settings), check_page(), _disk(args)]
    if args.json:
        for f in findings:
            print(json.dumps({"type": "check", "part": f.part, "ok": f.ok, "found": f.found, "cure": f.cure}))
    else:
        _show(findings)
    return 0 if all(f.ok for f in findings) else 1


def _kit(args: Namespace) -> Finding:
    name = str(args.kit) if args.kit else "the default kit"
    try:
        setting = setting_from(args)
    except UserError as error:
        return Finding(part="kit", ok=False, found=str(error), cure="mend the line named, or leave out --kit")
    sizes = ", ".join(cylinder.size for cylinder in setting.kit.cylinders)
    return Finding(
        part="kit",
        ok=True,
        found=f"{name}: sizes {sizes}, reserve {setting.kit.reserve.value:g} {setting.kit.reserve.unit}",
    )


def _ears(args: Namespace) -> Finding:
    try:
        setting = setting_from(Namespace(**{**vars(args), "kit": None}))
        ears = bare_ears_from(args, setting)
    except UserError as error:
        return Finding(
            part="ears",
            ok=False,
            found=str(error),
            cure="connect once to a network and run check again, or name a model with --model",
        )
    if ears.name == "pocketsphinx" and args.engine != "pocketsphinx":
        return Finding(
            part="ears",
            ok=False,
            found="pocketsphinx, the fallback, hears less accurately",
            cure="connect once to a network and run check again, or name a vosk model with --model",
        )
    return Finding(part="ears", ok=True, found=f"{ears.name} is ready{_second_model() if ears.name == 'vosk' else ''}")


def _second_model() -> str:
    from assistant.hearing.rating.model import model_folder

    if model_folder() is None:
        return ", without a second model: in noise more is asked again"
    return ", with a second model"


def _disk(args: Namespace) -> Finding:
    from assistant.journal.folder import default_folder

    folder = default_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / ".probe"
        probe.write_bytes(b"ready")
        probe.unlink()
    except OSError as error:
        return Finding(
            part="disk",
            ok=False,
            found=f"the record cannot be written ({error.strerror})",
            cure="make room or give write permission; until then the record is kept in memory only",
        )
    free_mb = shutil.disk_usage(folder).free // 2**20
    if free_mb < ROOM_NEEDED_MB:
        return Finding(part="disk", ok=False, found=f"{free_mb} MB free", cure=f"make {ROOM_NEEDED_MB} MB of room")
    return Finding(part="disk", ok=True, found=f"{free_mb} MB free for the record")


def _show(findings: list[Finding]) -> None:
    from rich.console import Console

    console = Console(highlight=False, file=sys.stdout)
    for f in findings:
        style = "green" if f.ok else "yellow"
        console.print(f"[{style}]{'ok     ' if f.ok else 'not yet'}[/] {f.part:<11}", end="")
        console.print(f.found, markup=False)
        if not f.ok:
            console.print(f"{'':<20}to do: {f.cure}", markup=False)
