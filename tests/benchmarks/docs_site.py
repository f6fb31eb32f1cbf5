"""Makes a site of docs/: python tests/benchmarks/docs_site.py [FOLDER]. Needs `pip install ".[docs]"`.

The settings stand here and in no file of their own: pyproject.toml stays the only configuration file.
"""

from __future__ import annotations

import sys
from pathlib import Path

from mkdocs.commands.build import build
from mkdocs.config.defaults import MkDocsConfig

ROOT = Path(__file__).parents[2]
PAGES = (
    "index.md",
    "conversation.md",
    "live.md",
    "cannot.md",
    "trade.md",
    "checks.md",
    "architecture.md",
    "decision.md",
    "speech.md",
    "benchmarks.md",
)


def site_config(folder: Path) -> MkDocsConfig:
    """The site of the pages that are there; a warning ends the build. Links are tested by tests/test_docs_pages.py."""
    config = MkDocsConfig()
    config.load_dict({
        "site_name": "Oxygen assistant",
        "docs_dir": str(ROOT / "docs"),
        "site_dir": str(folder),
        "nav": [page for page in PAGES if (ROOT / "docs" / page).exists()],
        "exclude_docs": "*.in.md",
        "theme": {"name": "material", "font": False},
        "use_directory_urls": False,
        "strict": True,
        "markdown_extensions": ["tables", "fenced_code"],
        "plugins": ["search"],
    })  # fmt: skip
    errors, warnings = config.validate()
    assert not errors, errors
    assert not warnings, warnings
    return config


if __name__ == "__main__":
    target = Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "build" / "site").resolve()
    build(site_config(target))
    print(f"{len(list(target.rglob('*.html')))} pages in {target}")
