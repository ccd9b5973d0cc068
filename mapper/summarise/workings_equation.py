"""An urban equation with the numbers put in, as a reader would type it."""

from typing import Any


def equation_text(tree: dict[Any, Any], size: float) -> str:
    """The terms of the tree's equation that count, for a diameter in cm."""
    x, inner = f"{size:.1f}", tree["age_inner"]
    double_log = f"ln(ln({x} + 1) + {inner:g})" if inner else f"ln(ln({x} + 1))"
    factors = ("", x, f"{x}²", f"{x}³", f"{x}⁴", f"√{x}", double_log)
    text = ""
    for number, factor in enumerate(factors):
        weight = float(tree[f"age_term_{number}"])
        if weight:
            sign = ("−" if weight < 0 else "") if not text else (" − " if weight < 0 else " + ")
            text += f"{sign}{abs(weight):.6g}" + (f" × {factor}" if factor else "")
    return f"exp({text})" if tree["age_exponential"] == 1 else text


def figure(number: float, decimals: int | None = None) -> str:
    """A number with a real minus sign."""
    text = f"{number:g}" if decimals is None else f"{number:.{decimals}f}"
    return text.replace("-", "−")
