"""The reasons why a verdict is not clear, in plain words."""

from __future__ import annotations

from typing import assert_never

from analysis import labels
from analysis.decision.caps import Cap
from analysis.show.season.log_words import loss_words


def cap_words(cap: Cap) -> str:
    """Say why a verdict may not be clear, to follow 'because'; no sentence end."""
    because = "so a depth cannot be told from the water that happened to be there"
    match cap.code:
        case "loss":
            lost = "" if cap.loss is None else loss_words(cap.loss)
            return f"of {cap.boat}, {lost}" if cap.boat else lost
        case "picked":
            return (
                "a part of a season that was picked to look at is one of many that may have been "
                "picked"
            )
        case "water-unknown":
            return f"the water temperature at the lure is unknown for most rod-hours, {because}"
        case "water-unseen":
            return (
                "no thermometer went below the surface: how deep the warm water reached was read "
                "from the strikes themselves"
            )
        case "water-alike":
            return f"what was measured shows one water temperature throughout, {because}"
        case "layers-unknown":
            return "casts are so rare that the height of the water's layers is a guess on most days"
        case "follower-unknown":
            return (
                "no thermometer was below the surface, and by the strikes fish may as well follow "
                "a temperature as keep to a depth"
            )
        case "foretells-nothing":
            return f"depth and water predict unseen trips no better than {cap.name}"
        case "not-fitted":
            if cap.name == "did not converge":
                return "the search for the best model did not settle"
            return f"the fit ended with: {cap.name}"
        case "few-strikes":
            return (
                f"rods fishing at the same time are compared by "
                f"{labels.count(cap.count, 'strike')} only"
            )
        case "few-trips":
            return f"all strikes that compare rods are of {labels.count(cap.count, 'trip')}"
        case "boats-apart":
            return (
                f"{cap.boat or 'some boats'} took strikes at other depths than the boats together, "
                "so that one answer for all need not be anyone's: review each boat by itself"
            )
        case "week-of-few-strikes":
            return "the week itself has too few strikes to show that fish did as in other weeks"
        case "week-on-spread":
            return "more than a third of its rod-hours rest on a spread alone"
        case "week-of-few-boats":
            return "too few boats fished each depth to tell narrow bands apart"
        case "week-of-few-depths":
            return "fewer than two depths were fished long enough to compare"
        case _:
            assert_never(cap.code)
