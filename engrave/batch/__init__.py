"""A week of orders lettered into its folder: `week_run` begins, `work_units` says what there is to do, `unit_drawn` makes,
`unit_written` puts in place, `week_told` reads back for the pages."""

from engrave.batch.week_run import Done, Stopped, run_week

__all__ = ["Done", "Stopped", "run_week"]
