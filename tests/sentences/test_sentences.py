"""What is said to people: short sentences in the words of the bench."""

from __future__ import annotations

from tests.sentences.reading import MOST_WORDS, NO_BENCH_WORDS, all_said, words_of


def test_no_sentence_runs_over_thirty_words() -> None:
    long = [
        f"{said.file}:{said.line}: {s}" for said in all_said() for s in said.sentences() if words_of(s) > MOST_WORDS
    ]
    assert not long, "\n".join(long)


def test_no_sentence_speaks_as_programmers_do() -> None:
    odd = [f"{said.file}:{said.line}: {said.text}" for said in all_said() if NO_BENCH_WORDS.search(said.text)]
    assert not odd, "\n".join(odd)


def test_the_list_holds_what_the_program_says() -> None:
    """The reader of the source sees sentences of every stage; a stage without any would be one that is not read."""
    stages = {said.file.split("/")[0] for said in all_said()}
    assert {"shop", "intake", "tasks", "typefaces", "setting", "cutting", "advising", "output", "pricing"} <= stages
    assert any("the cutter would not touch the wood" in said.text for said in all_said())
