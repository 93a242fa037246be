"""Owns one line of a proposed boat.toml."""

from dataclasses import dataclass


def one_line(text: str) -> str:
    """Write a text so that it cannot leave its comment."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of a proposed boat.toml, or a question that the log cannot answer.

    Parameters
    ----------
    table : str
        The TOML table it belongs to, such as ``columns.strikes``; empty for the top.
    key, value : str
        As TOML has them.
    reason : str
        In plain words.
    rows : tuple of str
        Up to three rows that show it.
    question : bool
        Whether the line is to be completed: it is written as a comment.
    """

    table: str
    key: str
    value: str
    reason: str
    rows: tuple[str, ...] = ()
    question: bool = False

    def text(self) -> str:
        """Write the line with its reason above it."""
        shown = f" ({'; '.join(one_line(row) for row in self.rows)})" if self.rows else ""
        ask = "? " if self.question else ""
        mark = "# " if self.question else ""
        return f"# {ask}{one_line(self.reason)}{shown}\n{mark}{self.key} = {self.value}"
