"""What the program can be asked, as functions: the command line and `import engrave` call these and nothing else.

Each is loaded when it is first asked for: one question should not wait for the libraries of the others.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.errors import AskedWrong
from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.verbs.agreed_kept import kept_orders, prune_kept
    from engrave.verbs.choices_drawn import Choices, LeftOut, all_choices, write_choices
    from engrave.verbs.figures_recorded import read_figures, record_figures, write_test_piece
    from engrave.verbs.files_drawn import write_picture, write_proof, write_shelf, write_svg
    from engrave.verbs.headings_kept import ask_headings, keep_headings, proposed_headings
    from engrave.verbs.orders_made import make_orders
    from engrave.verbs.quotes_told import QuoteTold, quote_week, quote_words, write_price_list
    from engrave.verbs.result_files import CHOICES_ENDINGS, LID_ENDINGS, PICTURE_ENDINGS, PROOF_ENDINGS, ending
    from engrave.verbs.shelf_rows_told import SHELVES, shelf
    from engrave.verbs.times_learned import clock_log, save_learned, write_timing_plot
    from engrave.verbs.words_tried import Tried, apply_remedy, try_words, why, with_advice

__all__ = [
    "CHOICES_ENDINGS",
    "LID_ENDINGS",
    "PICTURE_ENDINGS",
    "PROOF_ENDINGS",
    "SHELVES",
    "AskedWrong",
    "Choices",
    "LeftOut",
    "QuoteTold",
    "Tried",
    "all_choices",
    "apply_remedy",
    "ask_headings",
    "clock_log",
    "ending",
    "keep_headings",
    "kept_orders",
    "make_orders",
    "proposed_headings",
    "prune_kept",
    "quote_week",
    "quote_words",
    "read_figures",
    "record_figures",
    "save_learned",
    "shelf",
    "try_words",
    "why",
    "with_advice",
    "write_choices",
    "write_picture",
    "write_price_list",
    "write_proof",
    "write_shelf",
    "write_svg",
    "write_test_piece",
    "write_timing_plot",
]

__getattr__ = loads_on_use(
    __name__,
    {
        "words_tried": (
            "Tried",
            "try_words",
            "apply_remedy",
            "why",
            "with_advice",
        ),
        "choices_drawn": (
            "Choices",
            "LeftOut",
            "all_choices",
            "write_choices",
        ),
        "result_files": (
            "CHOICES_ENDINGS",
            "LID_ENDINGS",
            "PICTURE_ENDINGS",
            "PROOF_ENDINGS",
            "ending",
        ),
        "files_drawn": (
            "write_svg",
            "write_proof",
            "write_picture",
            "write_shelf",
        ),
        "orders_made": ("make_orders",),
        "quotes_told": (
            "QuoteTold",
            "quote_words",
            "write_price_list",
            "quote_week",
        ),
        "headings_kept": (
            "ask_headings",
            "proposed_headings",
            "keep_headings",
        ),
        "agreed_kept": (
            "kept_orders",
            "prune_kept",
        ),
        "times_learned": (
            "clock_log",
            "save_learned",
            "write_timing_plot",
        ),
        "shelf_rows_told": (
            "SHELVES",
            "shelf",
        ),
        "figures_recorded": (
            "write_test_piece",
            "read_figures",
            "record_figures",
        ),
    },
)
