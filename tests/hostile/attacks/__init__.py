"""The attacks, one module a kind, by the name that the table prints."""

from __future__ import annotations

_HERE = "tests.hostile.attacks"

ATTACKS = {
    "rows": f"{_HERE}.rows:Rows",
    "sheets": f"{_HERE}.sheets:Sheets",
    "drawings": f"{_HERE}.drawings:Drawings",
    "fonts": f"{_HERE}.fonts:Fonts",
    "tables": f"{_HERE}.tables:Tables",
    "logs": f"{_HERE}.logs:Logs",
    "records": f"{_HERE}.records:Records",
    "measures": f"{_HERE}.measures:KeptMeasures",
    "folders": f"{_HERE}.folders:Folders",
    "places": f"{_HERE}.places:Places",
    "kills": f"{_HERE}.kills:Kills",
    "disk": f"{_HERE}.disk:FullDisk",
    "together": f"{_HERE}.together:TwoAtOnce",
}
"""Name to where it is (see `worker.attack_of`): a worker loads the one that it is asked for."""
