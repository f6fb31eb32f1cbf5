"""Is this folder a whole vosk model? Gives what is missing, in words; never takes a cut-off copy for a model."""

from __future__ import annotations

import hashlib
from pathlib import Path

# Layout of a vosk model with a dynamic graph (the only kind that takes a grammar of one's own).
NEEDED = (
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/Gr.fst",
    "graph/HCLr.fst",
    "graph/disambig_tid.int",
    "graph/phones/word_boundary.int",
    "ivector/final.dubm",
    "ivector/final.ie",
    "ivector/final.mat",
    "ivector/global_cmvn.stats",
    "ivector/online_cmvn.conf",
    "ivector/splice.conf",
)

# The US English small model as published to Maven (com.alphacephei:vosk-model-en:0.3.45): its identity, then file
# sizes in bytes and SHA-256, measured on that artifact.
KNOWN_UUID = "8299698e-4447-4ce1-be96-cccda9168067"
KNOWN_FILES = {
    "am/final.mdl": (15_962_575, "75370a0137f9daf8f469dedd7daa4513ae7a621f03240c6e512e2b50b656a7b6"),
    "conf/mfcc.conf": (131, "1e2228006d01d805ad1c267fee9f79709ca87ac51bd82b0e3f5c69ba543f0fc4"),
    "conf/model.conf": (290, "8f14cb1eeb07c762c371db648c6be688d347236155ca0f64fb13b6567a8ce81f"),
    "graph/Gr.fst": (24_013_795, "023c8b7e30704a9e37765c635c252e608a02f361235bf94abdcf2a5225d85b20"),
    "graph/HCLr.fst": (22_416_994, "5caafba3081e1646545ac6bff0dd7a318e53dcbdc86f237909ce1d2ac1293d34"),
    "graph/disambig_tid.int": (102, "9ad87cc166d0998f08f758f47a6223a120dfffcbee805c4849c3aa5e6bb3c0fc"),
    "graph/phones/word_boundary.int": (1_761, "da199d9c991e0e84681ddbb34627b915b26302d50a8fdaa23c51e2bc3a50b5c3"),
    "ivector/final.dubm": (168_048, "8c5d7dd69d2122313baaf19f61f35dd3fa18b70c62ac0687e311e1c46e6daca7"),
    "ivector/final.ie": (8_288_887, "3f37faf90c375b9e4740b569398b5829ed9cc07d19be6d441f72c3b71d7efcc6"),
    "ivector/final.mat": (44_975, "ddd83586dc5f928cda8738b922c85ffe38fc789cb5f9151a712ca12f37265382"),
    "ivector/global_cmvn.stats": (1_080, "33be09afcc80059847a275c3d043b51f1ab954c7c2438ddbbf4745e8ba144ff9"),
    "ivector/online_cmvn.conf": (95, "a2f3571754b64297cb7efb2e7ca3df61995c5a45fcbb97188f90613552bb2dfe"),
    "ivector/splice.conf": (35, "9f0c5f7c82d18eaf25d8bce470efa9f7741f88411fe428774bc0a9bb69a24756"),
}
WHOLE_HASH_UP_TO_BYTES = 1 << 16


def faults(folder: Path, *, thorough: bool = False) -> tuple[str, ...]:
    """What keeps the folder from being a whole model, one phrase each; empty when it is one.

    The known model is held against its sizes and, when `thorough` (after fetching), its SHA-256 sums. Another model
    must have the files of NEEDED, none of them empty.
    """
    if not folder.is_dir():
        return ("there is no such folder",)
    sizes = _KNOWN_SIZES if is_known(folder) else dict.fromkeys(NEEDED)
    wrong = [fault for file, size in sizes.items() if (fault := _size_fault(folder / file, file, size))]
    if thorough and not wrong and is_known(folder):
        changed = (file for file, (_, digest) in KNOWN_FILES.items() if _digest(folder / file) != digest)
        wrong = [f"{file} differs from the published one" for file in changed]
    return tuple(wrong)


def is_known(folder: Path) -> bool:
    """Is it the published US English small model, by the identity in its `uuid` file?"""
    try:
        return (folder / "uuid").read_text(encoding="ascii").strip() == KNOWN_UUID
    except (OSError, UnicodeDecodeError):
        return False


def fingerprint(folder: Path) -> str:
    """Changes when the model does: place, sizes and times of its files, and the content of the small ones."""
    digest = hashlib.sha256(str(folder.resolve()).encode())
    for file in NEEDED:
        stat = (folder / file).stat()
        digest.update(f"\n{file} {stat.st_size} {stat.st_mtime_ns}\n".encode())
        if stat.st_size <= WHOLE_HASH_UP_TO_BYTES:
            digest.update((folder / file).read_bytes())
    return digest.hexdigest()


_KNOWN_SIZES: dict[str, int | None] = {file: size for file, (size, _) in KNOWN_FILES.items()}


def _size_fault(path: Path, file: str, expected: int | None) -> str:
    if not path.is_file():
        return f"{file} is missing"
    size = path.stat().st_size
    if expected is None:
        return "" if size else f"{file} is empty"
    return "" if size == expected else f"{file} has {size} bytes instead of {expected}"


def _digest(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()
