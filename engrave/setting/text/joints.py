"""Which words stay together when lines are broken: the joints of a line, by rules whose words and reasons are data.

The data are in `joints.toml` (read by `joint_data`): a weight and a reason for each rule, and the words of the languages
of the orders. A rule (`joint_rules`) is a question about one place between two words (`joined_words`); strong answers win
over weak ones, the order decides among equals.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from engrave.setting.text.joined_words import JoinedWords
from engrave.setting.text.joint_data import Language, Weight
from engrave.setting.text.joint_rules import JOINT_RULES


@dataclass(frozen=True, slots=True)
class Joint:
    """What ending a line between two words would do. rule: its name in the data; '' where no rule joins them."""

    weight: Weight
    rule: str = ""


def joints_of(
    words: Sequence[str], language: Language | None = None, unspaced: Collection[int] = ()
) -> tuple[Joint, ...]:
    """Return the joints between the words of one line, one fewer than there are words. unspaced: those without a blank."""
    of = JoinedWords(words, language, unspaced)
    out: list[Joint] = []
    for k in range(of.last):
        found = _joint(of, k)
        ends_group = found.weight == "plain" and out and out[-1].weight == "strong"
        out.append(Joint("phrase", "after-group") if ends_group else found)
    return tuple(out)


def _joint(of: JoinedWords, k: int) -> Joint:
    weak = ""
    for name, (weight, _) in of.table.rules.items():
        if (weight == "strong" or not weak) and JOINT_RULES[name](of, k):
            if weight == "strong":
                return Joint("strong", name)
            weak = name
    if weak:
        return Joint("weak", weak)
    if of.stops(k):
        return Joint("plain", "list") if _lists_names(of, k) else Joint("stop")
    begins = of.bare[k + 1] in of.language.leads or of.bare[k + 1] in of.language.conjunctions
    return Joint("phrase" if begins or of.is_sign(k + 1) else "plain")


def _lists_names(of: JoinedWords, k: int) -> bool:
    """Tell whether a comma only parts single names in a row that ends with '&' or 'and': 'Emeka, Ife & Tobe'."""
    if not (of.words[k].endswith(",") and of.is_name(k) and of.is_name(k + 1) and (k == 0 or of.stops(k - 1))):
        return False
    last = next((j for j in range(k + 1, of.last) if not of.words[j].endswith(",")), of.last)
    return of.is_sign(last + 1) or of.is_conjunction(last + 1)
