"""Whether procedures can be followed: every name known, every step reached, no loop, and an end to each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches

from assistant.incident.procedure_steps import END, Procedure, ProcedureError, ProcedureStep

Procedures = Mapping[str, Procedure]


def checked(procedures: Procedures) -> Procedures:
    """`procedures` as they are; raises ProcedureError with file and line for the first thing that is wrong."""
    for procedure in procedures.values():
        for step in procedure.steps.values():
            _names_known(procedure, step, procedures)
        _returns_known(procedure, procedures)
        _no_loop(procedure)
        _all_reached(procedure)
    _no_trouble_loop(procedures)
    return procedures


def _error(procedure: Procedure, step: ProcedureStep, why: str, near: str | None = None) -> ProcedureError:
    return ProcedureError(f'step "{step.name}": {why}', source=procedure.source, line=step.line, nearest=near)


def _names_known(procedure: Procedure, step: ProcedureStep, procedures: Procedures) -> None:
    for name in (*step.exits, *(n for n in (step.since, step.gap_from) if n)):
        if name not in procedure.steps and name != END:
            near = get_close_matches(name, procedure.steps, n=1, cutoff=0.0)
            raise _error(procedure, step, f'no step is named "{name}"', near[0])
    known = [p.name for p in procedures.values() if p.trouble]
    for name in step.troubles:
        if name not in known:
            near = get_close_matches(name, known, n=1, cutoff=0.0)
            raise _error(procedure, step, f'no trouble path is named "{name}"', near[0] if near else None)


def _returns_known(procedure: Procedure, procedures: Procedures) -> None:
    for name, step in procedure.return_to.items():
        if name not in procedures or step not in procedures[name].steps:
            raise ProcedureError(f'"return_to" names no step: {name}.{step}', source=procedure.source, line=1)


def _no_loop(procedure: Procedure) -> None:
    """Walks every path; a step that leads back to one it came from is refused. "Back" and refusals are no paths.

    A road without a loop over finitely many steps ends, so that this also proves an exit from every step.
    """
    done: set[str] = set()
    path: list[str] = [procedure.first]
    waiting: list[Iterator[str]] = [iter(procedure.steps[procedure.first].exits)]
    while waiting:
        following = next(waiting[-1], None)
        if following is None:
            waiting.pop()
            done.add(path.pop())
        elif following in path:
            raise _error(procedure, procedure.steps[path[-1]], f'a loop: it leads back to "{following}"')
        elif following != END and following not in done:
            path.append(following)
            waiting.append(iter(procedure.steps[following].exits))


def _all_reached(procedure: Procedure) -> None:
    reached: set[str] = set()
    ahead = [procedure.first]
    while ahead:
        name = ahead.pop()
        if name != END and name not in reached:
            reached.add(name)
            ahead.extend(_reached_from(procedure.steps[name]))
    for step in procedure.steps.values():
        if step.name not in reached:
            raise _error(procedure, step, "no other step leads here")


def _reached_from(step: ProcedureStep) -> tuple[str, ...]:
    """What follows in fact: where both answers branch and it is never passed over, the next in the file does not."""
    both = step.yes is not None and step.no is not None and not step.when
    return tuple(e for e in step.exits if not both or e in (step.yes, step.no))


def _no_trouble_loop(procedures: Procedures) -> None:
    for procedure in procedures.values():
        if procedure.trouble:
            for step in procedure.steps.values():
                if procedure.name in _troubles_below(procedures, step):
                    raise _error(procedure, step, "a loop: the trouble path it opens leads back here")


def _troubles_below(procedures: Procedures, step: ProcedureStep) -> set[str]:
    found: set[str] = set()
    ahead = list(step.troubles)
    while ahead:
        name = ahead.pop()
        if name not in found:
            found.add(name)
            ahead.extend(t for s in procedures[name].steps.values() for t in s.troubles)
    return found
