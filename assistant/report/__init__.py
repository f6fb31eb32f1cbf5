"""The hand-over of an incident: spoken, on the terminal, as Markdown, HTML and PDF, for the radio, and as data.

`summary_of(stored)` tells what an incident comes to (`stored` from the journal, or `from_lines(path)`);
`written(form, …)` gives it in a form; `spoken`,
`read_out` and `said_for` are for the voice.
"""

from assistant.report.radio import ReadOut, read_out
from assistant.report.reading_out import said_for
from assistant.report.spoken import spoken
from assistant.report.summary import Summary, summarised
from assistant.report.terminal import terminal
from assistant.report.written import FORMS, ORDERS, ReportError, from_lines, kit_of, summary_of, written

__all__ = [
    "FORMS",
    "ORDERS",
    "ReadOut",
    "ReportError",
    "Summary",
    "from_lines",
    "kit_of",
    "read_out",
    "said_for",
    "spoken",
    "summarised",
    "summary_of",
    "terminal",
    "written",
]
