"""Rules about heights: sets that lack a part, doubtful sights, methods that disagree."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.check.findings import Rule, findings, joined, worded
from mapper.check.height_sets import complete_sets, missing_parts, named_sets
from mapper.load.names import value_name
from mapper.reference.height_methods import METHODS, TELLING, HeightMethod

STEEP_DEG = 60.0
NEAR_DEG = 10.0  # two stations with less between their angles say next to nothing


def unfinished(values: pd.DataFrame) -> pd.DataFrame:
    """What was begun and gives no height, and sights that give a doubtful one."""
    return joined(
        [
            _half_filled(values),
            _named_for_nothing(values),
            _top_in_doubt(values),
            _stations(values),
            _short_tape(values),
            _base_above_the_eye(values),
        ]
    )


def _half_filled(values: pd.DataFrame) -> pd.DataFrame:
    """Headings that no complete method uses: which method they come nearest to, and its gaps."""
    complete = complete_sets(values)
    filled = {name: values[value_name(name)].notna().to_numpy() for name in TELLING}
    used = {
        name: np.any([whole for whole, one in zip(complete, METHODS, strict=True)
                      if name in one.needs], axis=0)
        for name in TELLING
    }  # fmt: skip
    left = {name: filled[name] & ~used[name] for name in TELLING}
    unused = pd.DataFrame(left, index=values.index)
    unused = unused[unused.any(axis=1)]
    at = values.loc[unused.index]
    first = unused.idxmax(axis=1) if len(unused) else pd.Series(dtype=str)
    wanting = _wanting(at, unused)
    advice = "Add what is missing from the record sheet."
    found = [
        findings(Rule("incomplete", "warning", name, advice), at[first == name], wanting)
        for name, wanting in ((name, wanting[first == name]) for name in TELLING)
    ]
    return joined(found)


def _wanting(at: pd.DataFrame, unused: pd.DataFrame) -> "pd.Series[str]":
    """One sentence a record, worked out once for all that have and lack the same."""
    lacks = [missing_parts(at, method).to_numpy() for method in METHODS]
    bits = np.packbits(np.hstack([*lacks, named_sets(at).T, unused.to_numpy()]), axis=1)
    _, first, alike = np.unique(bits, axis=0, return_index=True, return_inverse=True)
    sentences = _sentences(at.iloc[first], unused.iloc[first])
    return pd.Series(sentences[alike.ravel()], index=at.index, dtype=str)


def _sentences(at: pd.DataFrame, unused: pd.DataFrame) -> NDArray[np.object_]:
    """What the nearest methods that need an unused heading of each record still lack."""
    counts, texts = [], []
    for method, named in zip(METHODS, named_sets(at), strict=True):
        lacks = missing_parts(at, method)
        asked = unused[[name for name in method.needs if name in unused]].any(axis=1).to_numpy()
        # Another kind of baseline is no gap that can be filled: such a method is farther off.
        other_kind = lacks.iloc[:, len(method.needs) :].any(axis=1)
        # A method that the record names is the one that was meant.
        counts.append(np.where(asked, lacks.sum(axis=1) + other_kind - 100 * named, 1000))
        texts.append(_lacking_words(lacks, method))
    least = np.min(counts, axis=0) if len(at) else np.array([])
    sentences = np.full(len(at), "", dtype=object)
    for count, text in zip(counts, texts, strict=True):
        again = np.array([part in whole for part, whole in zip(text, sentences, strict=True)], bool)
        wanted = (count == least) & ~again
        joint = np.where(sentences == "", "", " ")
        sentences = np.where(wanted, sentences + joint + text, sentences)
    return sentences


def _lacking_words(lacks: pd.DataFrame, method: HeightMethod) -> NDArray[np.object_]:
    needs = [str(name) for name in lacks if not str(name).startswith("baseline_kind")]
    start = f"For '{method.name}' {', '.join(needs)} are needed together; missing: "
    words = np.full(len(lacks), "", dtype=object)
    for name in lacks:
        before = np.where(words == "", "", ", ")
        words = np.where(lacks[name], words + before + str(name), words)
    return np.asarray(start + words + ".", dtype=object)


def _named_for_nothing(values: pd.DataFrame) -> pd.DataFrame:
    """A height_method without any height, typed or computed."""
    begun = values[[value_name(name) for name in TELLING]].notna().any(axis=1)
    held = np.any(complete_sets(values), axis=0)
    at = values[(values["height_method"] != "") & ~begun & ~held]
    return findings(
        Rule("incomplete", "warning", "height_method", "Add the height or its readings."),
        at,
        worded("Height by {}, and no height and no reading to compute one.", at["height_method"]),
    )


def _top_in_doubt(values: pd.DataFrame) -> pd.DataFrame:
    steep = values["angle_top_deg"] > STEEP_DEG
    return findings(
        Rule("steep", "note", "angle_top", "Stand at least as far away as the tree is high."),
        values[steep],
        "Sighted at more than 60 degrees: a small slip of the angle moves the height a lot.",
    )


def _stations(values: pd.DataFrame) -> pd.DataFrame:
    """Two stations with the farther one first, or with too little between their angles."""
    used = values["station_gap_m"].notna()
    more = values["angle_top_2_deg"] - values["angle_top_deg"]
    swapped, near = used & (more > 0), used & (more.abs() < NEAR_DEG)
    return joined(
        [
            findings(
                Rule("stations_swapped", "note", "angle_top_2"),
                values[swapped],
                "The second station looks up more steeply, so it was taken for the nearer one. "
                "An angle to the base must come from there.",
            ),
            findings(
                Rule("stations_near", "warning", "station_gap", "Set the stations farther apart."),
                values[near],
                "Less than 10 degrees between the angles from the two stations: the height is "
                "very unsure.",
            ),
        ]
    )


def _short_tape(values: pd.DataFrame) -> pd.DataFrame:
    along = values["baseline_kind"] == "along the ground"
    at = values[along & (values["baseline_m"] <= values["eye_height_m"])]
    return findings(
        Rule("short_tape", "warning", "baseline", "Is a unit wrong?"),
        at,
        "A tape along the ground that is no longer than the eye is high. No height comes from it.",
    )


def _base_above_the_eye(values: pd.DataFrame) -> pd.DataFrame:
    """A protractor that counts down again beyond 90 makes a base below the eye look above it."""
    from_vertical = values["angle_unit"] == "degrees from vertical"
    at = values[from_vertical & (values["angle_base_deg"] > 0)]
    return findings(
        Rule("base_above_eye", "warning", "angle_base", "If the base is lower, take it from 180."),
        at,
        "Counted from straight up, a base lower than the eye reads more than 90. This one is read "
        "as a base above the eye.",
    )


def doubtful_heights(records: pd.DataFrame) -> pd.DataFrame:
    """What shows once heights are computed: two that disagree, a lean beyond the height.

    `records` are measured, as measure_heights says.
    """
    return joined(
        [
            _no_tree(records),
            _typed_apart(records),
            _methods_apart(records),
            _leaning_flat(records),
        ]
    )


def _no_tree(records: pd.DataFrame) -> pd.DataFrame:
    """A whole set of readings that no tree can give, such as a mark above the top."""
    whole = np.any(complete_sets(records), axis=0) & records["height_m"].isna()
    return findings(
        Rule("no_tree", "warning", "height_method", "Look at the record sheet, or measure again."),
        records[whole],
        "All that a height needs is there, and no tree gives such readings together. No height.",
    )


def _typed_apart(records: pd.DataFrame) -> pd.DataFrame:
    """A typed height beyond two combined standard uncertainties of the computed one.

    How sure a typed height is nobody said; it is taken as no surer than the computed one.
    """
    computed = records["height_formula"] != ""
    apart = (records["height_m"] - records["typed_height_m"]).abs()
    sd = records["height_sd_m"].to_numpy(dtype=float)
    typed_sd = np.fmax(sd, records["typed_height_sd_m"].to_numpy(dtype=float))
    at = records[computed & (apart > 2 * metrics.combined_sd(sd, typed_sd))]
    template = "Typed height {:.1f} m, by {} {:.1f} m. The computed one is used."
    return findings(
        Rule("heights_disagree", "warning", "height", "One of the two is wrong: measure again."),
        at,
        worded(template, at["typed_height_m"], at["height_method"], at["height_m"]),
    )


def _methods_apart(records: pd.DataFrame) -> pd.DataFrame:
    apart = (records["height_m"] - records["other_height_m"]).abs()
    sds = (records[name].to_numpy(dtype=float) for name in ("height_sd_m", "other_height_sd_m"))
    at = records[apart > 2 * metrics.combined_sd(*sds)]
    template = "By {} {:.1f} m, by {} {:.1f} m. The first is used."
    names = ["height_method", "height_m", "other_height_method", "other_height_m"]
    return findings(
        Rule("methods_disagree", "warning", "height_method", "One is wrong: measure again."),
        at,
        worded(template, *(at[name] for name in names)),
    )


def _leaning_flat(records: pd.DataFrame) -> pd.DataFrame:
    at = records[records["lean_offset_m"] >= records["height_m"]]
    template = "The top stands out {:.1f} m sideways, and is {:.1f} m high: it nearly lies."
    return findings(
        Rule("lean_beyond_height", "warning", "lean_offset", "Is a unit wrong?"),
        at,
        worded(template, at["lean_offset_m"], at["height_m"]),
    )
