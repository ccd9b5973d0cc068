"""Sentences of a comparison against simulation: how often they claim what is not so.

Pairs of stands are drawn whose truth is known, sampled or measured as the package thinks of it, and
read by the package itself. A difference claimed where there is none may happen 1 time in 20; with
so many pairs as here, chance lets a right rule stay below the limits 999 times in 1000 (binomial).
"""

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from mapper.summarise import Results
from mapper.summarise.comparison import difference_of

ResultsOf = Callable[..., Results]
PAIRS, PLOTS = 120, 12
PLOT_HA = 0.04
NOTHING = "show no difference"
# Of 120 pairs, 1 in 20 wrong: 13 or fewer in 99.9 % of all draws (binomial distribution).
MOST_WRONG = 13


def sampled(results_of: ResultsOf, denser: float) -> pd.DataFrame:
    """Stands of 500 stems a hectare and, every second one, of `denser` times as many."""
    random = np.random.default_rng(20)
    toml, plots, rows = ['[records]\nfiles = ["a.csv"]\n'], ["plot,stand,area_ha"], []
    for stand in range(2 * PAIRS):
        toml.append(
            f'[[stand]]\nname = "S{stand}"\ndesign = "plots"\nselection = "random"\n'
            'plots = "plots.csv"\n'
        )
        stems = 500 * (denser if stand % 2 else 1)
        for plot in range(PLOTS):
            plots.append(f"{stand}x{plot},S{stand},{PLOT_HA}")
            for tree in range(random.poisson(stems * PLOT_HA)):
                girth = np.pi * (8 + 20 * random.weibull(2.2))
                rows.append(f"{stand}x{plot}x{tree},S{stand},{stand}x{plot},{girth:.1f}")
    files = {
        "survey.toml": "".join(toml),
        "plots.csv": "\n".join(plots) + "\n",
        "a.csv": "tree,stand,plot,girth_cm\n" + "\n".join(rows) + "\n",
    }
    return results_of(files).stands.set_index("stand", drop=False)


def told(stands: pd.DataFrame, quantity: str) -> list[str]:
    sides = stands.to_dict("index")
    return [
        str(difference_of(sides[f"S{2 * n}"], sides[f"S{2 * n + 1}"], quantity)["sentence"])
        for n in range(PAIRS)
    ]


@pytest.mark.parametrize("denser", [1.0, 1.5])
def test_plots_claim_a_difference_that_is_not_there_1_time_in_20(
    results_of: ResultsOf, denser: float
) -> None:
    """Alike stands; and denser ones, whose trees are as thick as those of the others."""
    stands = sampled(results_of, denser)
    alike = ["mean_diameter_cm", "quadratic_mean_diameter_cm"]
    alike += ["stems_per_ha", "basal_area_m2_per_ha"] if denser == 1 else []
    for quantity in alike:
        wrong = sum(NOTHING not in sentence for sentence in told(stands, quantity))
        assert wrong <= MOST_WRONG, (quantity, wrong)
    if denser > 1:
        claimed = [sentence for sentence in told(stands, "stems_per_ha") if NOTHING not in sentence]
        denser_first = [f"S{2 * n + 1} has" for n in range(PAIRS)]
        assert len(claimed) > 0.9 * PAIRS  # half as many again, 240 trees against 360: seen
        assert sum(text.startswith(tuple(denser_first)) for text in claimed) >= len(claimed) - 1
        holding = sum(_holds(text, denser) for text in claimed)
        assert holding >= len(claimed) - MOST_WRONG


def _holds(sentence: str, ratio: float) -> bool:
    """Whether the ratio that a sentence tells by its ends has the true one between them."""
    words = sentence.split(" has ")[1].split()
    if words[1] == "to":
        return float(words[0]) - 0.05 <= ratio <= float(words[2]) + 0.05
    return abs(float(words[1]) - ratio) < 0.4 * ratio if words[0] == "about" else False


def test_tapes_claim_a_difference_that_is_not_there_1_time_in_20(results_of: ResultsOf) -> None:
    """The same 25 trees under two names: girths read twice, each wrong by the tape's own sd."""
    random = np.random.default_rng(5)
    head = '[records]\nfiles = ["a.csv"]\n'
    toml = "".join(
        f'[[stand]]\nname = "S{n}"\ndesign = "complete count"\narea = "1 ha"\n'
        for n in range(2 * PAIRS)
    )
    rows = []
    for pair in range(PAIRS):
        girths = random.uniform(40, 160, 25)
        for stand in (2 * pair, 2 * pair + 1):
            read = girths + random.normal(0, 0.64, 25)
            rows += [f"{stand}x{n},S{stand},{girth:.3f}" for n, girth in enumerate(read)]
    table = "tree,stand,girth_cm\n" + "\n".join(rows) + "\n"
    stands = results_of({"survey.toml": head + toml, "a.csv": table}).stands
    for quantity in ("mean_diameter_cm", "basal_area_m2_per_ha", "gini_basal_area"):
        sentences = told(stands.set_index("stand", drop=False), quantity)
        wrong = sum(NOTHING not in sentence for sentence in sentences)
        assert wrong <= MOST_WRONG, (quantity, wrong)
        assert any(NOTHING in sentence for sentence in sentences)
