"""The test-by-fault table of a lab's faults to look at: what tells each fault, and which faults no test parts."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.table import Table as Lines

from tankside.diagnosis.candidates import remedies_of
from tankside.diagnosis.kept_tables import table_for
from tankside.diagnosis.table import Table
from tankside.diagnosis.table_picture import ALWAYS, fault_names, kin, picture
from tankside.errors import TanksideError
from tankside.faults.catalogue import fault_named, remedy_named
from tankside.labs import load_lab


def show(out: Console, lab_ids: list[str], into: Path | None) -> None:
    """Each lab on each of its heaters, over all of their sites; with ``into`` as a CSV file and a picture as well."""
    if not lab_ids:
        raise TanksideError("Name one lab or more: python3 run.py check table lab03")
    for lab_id in lab_ids:
        lab = load_lab(lab_id)
        for model in lab.models:
            table = table_for(model, tuple(lab.faults))
            _faults(out, f"{lab_id} on {model}", table)
            _alike(out, table)
            if into:
                _write(out, into, f"{lab_id}-{model}", table)


def _faults(out: Console, title: str, table: Table) -> None:
    """A line a fault: how many tests tell it from a healthy heater, and the quickest that always does."""
    groups = kin(table)
    lines = Lines(
        "fault", "tests that always tell", "at some severities", "quickest that always does", title=title
    )
    for i, name in enumerate(fault_names(table)):
        always = [one for one in groups if one.tells[i] == ALWAYS]
        some = sum(len(one.names) for one in groups if 0 < one.tells[i] < ALWAYS)
        # What is found at first hangs on the moment of the thermostat's cycle: a test after that says more.
        best = min(always, key=lambda one: (one.situation == 0, one.situation, one.minutes), default=None)
        words = f"{best.names[0]} ({best.minutes:g} min)" if best else "none by itself"
        lines.add_row(fault_named(name).name, str(sum(len(one.names) for one in always)), str(some), words)
    out.print(lines)
    out.print(
        f"{len(table.tests)} tests, {len(table.columns)} observations, {len(table.cells)} hypotheses (faults by severity)."
    )


def _alike(out: Console, table: Table) -> None:
    """Ambiguity groups over all heaters and sites; on one heater at its own site fewer faults are alike."""
    groups = [group for group in table.ambiguity_groups() if len(group) > 1]
    out.print(f"Ambiguity groups, whatever the heater and its site: {len(groups)}.")
    for group in groups:
        cures = ", ".join(sorted(remedy_named(one).name for one in remedies_of(group)))
        out.print(f"  {'; '.join(fault_named(name).name for name in group)}  ->  {cures}", markup=False)


def _write(out: Console, into: Path, stem: str, table: Table) -> None:
    try:
        into.mkdir(parents=True, exist_ok=True)
        table.frame().to_csv(into / f"{stem}.csv")
        (into / f"{stem}.svg").write_text(picture(table), encoding="utf-8")
    except OSError as error:
        raise TanksideError(f"The table can't be written into {into}: {error.strerror}.") from None
    out.print(f"Written: {into / f'{stem}.csv'} and {into / f'{stem}.svg'}", markup=False)
