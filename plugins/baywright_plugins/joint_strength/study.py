"""From inputs to the members of the result, one function for each."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy

from .censored import NormalFit, fit_normal
from .fractile import (
    KNOWN,
    LEAST_UNKNOWN_VARIATION,
    METHODS,
    TITLES,
    TOLERANCE,
    UNKNOWN,
    achieved_confidence,
    factor,
    log_sd_of,
)
from .losses import (
    NotEnoughPoints,
    Standing,
    Wear,
    fit_standing,
    fit_wear,
    standing_factor,
    wear_factor,
)
from .partial_factors import PARTIAL_FACTORS, PartialFactor
from .probability_plot import normal_by_chance, paper_of, straightness
from .readings import Array, Sample, newtons_per_unit, sample_of
from .sample_size import count_for_factor, next_steps
from .schemas import DISTRIBUTIONS
from .single_ends import ROD_FRACTION, end_fraction

CURVE_POINTS = 41
NO_PLACE = np.empty(0)


@dataclass(frozen=True)
class Fits:
    """Both distributions fitted to one sample: of the forces, and of their logarithms."""

    normal: NormalFit
    log: NormalFit


@dataclass(frozen=True)
class Losses:
    """What use takes away. `wear` and `standing` are None where no series is given."""

    wear: Wear | None
    standing: Standing | None
    wear_factor: float
    standing_factor: float
    partial: PartialFactor

    @property
    def share_left(self) -> float:
        """Design strength as a share of characteristic strength."""
        return self.wear_factor * self.standing_factor / self.partial.value


def read_sample(inputs: Mapping[str, Any]) -> Sample:
    """The pull tests in newtons."""
    return sample_of(
        inputs.get("readings", NO_PLACE),
        newtons_each=newtons_per_unit(inputs["reading_unit"], kgf_n=inputs["kgf_n"]),
        scale_limit=inputs.get("scale_limit"),
        proofs=inputs.get("proofs", NO_PLACE),
    )


def fit_both(sample: Sample) -> Fits:
    """Raises NoScatter where the strengths are all equal and no proof value lies above."""
    return Fits(
        fit_normal(sample.strengths_n, sample.proofs_n),
        fit_normal(np.log(sample.strengths_n), np.log(sample.proofs_n)),
    )


def fraction_of(inputs: Mapping[str, Any]) -> float:
    """Share of the tested pieces that may be weaker than the rod's 5 % value."""
    return end_fraction() if inputs["tested"] == "single-end" else ROD_FRACTION


def losses_of(inputs: Mapping[str, Any]) -> Losses:
    """Fitted losses at the design life; a series that shows a gain counts as no loss.

    Raises:
        NotEnoughPoints: with "reassembly" or "standing" as its argument.
    """
    wear = _fitted(inputs, "reassembly", "assemblies", fit_wear)
    standing = _fitted(inputs, "standing", "days", fit_standing)
    left_by_wear = left_by_standing = 1.0
    if wear is not None and "assemblies_count" in inputs:
        left_by_wear = wear_factor(
            max(wear.exponent, 0.0),
            max(inputs["assemblies_count"], inputs["tested_at_assembly_count"]),
            tested_at=inputs["tested_at_assembly_count"],
        )
    if standing is not None:
        loss = max(standing.loss_per_decade, 0.0)
        left_by_standing = standing_factor(loss, inputs["standing_days"])
    return Losses(wear, standing, left_by_wear, left_by_standing, _partial(inputs))


def _fitted(inputs: Mapping[str, Any], name: str, along: str, fit: Any) -> Any:
    if name not in inputs:
        return None
    series = inputs[name]
    try:
        return fit(series[along].astype(float), series["strength"])
    except NotEnoughPoints:
        raise NotEnoughPoints(name) from None


def _partial(inputs: Mapping[str, Any]) -> PartialFactor:
    if "partial_factor_ratio" in inputs:
        return PartialFactor(inputs["partial_factor_ratio"], "as given")
    return PARTIAL_FACTORS[inputs["partial_factor"]]


def sample_result(inputs: Mapping[str, Any], sample: Sample, fits: Fits) -> dict[str, Any]:
    """Count, mean and scatter."""
    mean, sd = fits.normal.mean, fits.normal.sample_sd
    return {
        "count": len(sample.force_n),
        "strengths_count": len(sample.strengths_n),
        "proofs_count": len(sample.proofs_n),
        "reading_unit": inputs["reading_unit"],
        "newtons_per_unit_n": newtons_per_unit(inputs["reading_unit"], kgf_n=inputs["kgf_n"]),
        "mean_n": mean,
        "sd_n": sd,
        "variation_ratio": sd / mean,
        "log_median_n": math.exp(fits.log.mean),
        "log_sd_ratio": fits.log.sample_sd,
        "weakest_n": float(sample.force_n[0]),
        "strongest_n": float(sample.force_n[-1]),
    }


def estimates(inputs: Mapping[str, Any], fits: Fits, share_left: float) -> list[dict[str, Any]]:
    """Every method with every distribution; en-1990-known only where its variation is given."""
    known = "known_variation_ratio" in inputs
    return [
        estimate(inputs, fits, method, distribution, share_left)
        for method in METHODS
        for distribution in DISTRIBUTIONS
        if method != KNOWN or known
    ]


def estimate(
    inputs: Mapping[str, Any],
    fits: Fits,
    method: str,
    distribution: str,
    share_left: float,
    *,
    count: int | None = None,
) -> dict[str, Any]:
    """One characteristic value; `count` other than the tests made answers "what if there were"."""
    n = fits.normal.strengths_count if count is None else count
    fraction = fraction_of(inputs)
    k = factor(method, n, fraction)
    out: dict[str, Any] = {
        "method": method,
        "distribution": distribution,
        "title": TITLES[method],
        "recommended": (method, distribution) == (inputs["method"], inputs["distribution"]),
        "factor_ratio": k,
        "tests_count": n,
        "confidence_ratio": achieved_confidence(method, n, fraction),
    }
    if distribution == "normal":
        mean = fits.normal.mean
        scatter = _scatter(inputs, method, fits.normal.sample_sd / mean) * mean
        out["scatter_n"] = scatter
        value = mean - k * scatter
    else:
        scatter = _log_scatter(inputs, method, fits.log.sample_sd)
        out["log_scatter_ratio"] = scatter
        value = math.exp(fits.log.mean - k * scatter)
    if value > 0:
        out |= {"characteristic_n": value, "design_n": value * share_left}
        out["note"] = _note(inputs, method)
    else:
        out["note"] = "The scatter is so large that this method gives nothing above zero."
    return out


def least_variation(inputs: Mapping[str, Any], method: str) -> float:
    """The least coefficient of variation a method counts with."""
    least = LEAST_UNKNOWN_VARIATION if method == UNKNOWN else 0.0
    return float(inputs.get("least_variation_ratio", least)) if method != KNOWN else 0.0


def _scatter(inputs: Mapping[str, Any], method: str, measured: float) -> float:
    if method == KNOWN:
        return float(inputs["known_variation_ratio"])
    return max(measured, least_variation(inputs, method))


def _log_scatter(inputs: Mapping[str, Any], method: str, measured: float) -> float:
    if method == KNOWN:
        return log_sd_of(inputs["known_variation_ratio"])
    return max(measured, log_sd_of(least_variation(inputs, method)))


def _note(inputs: Mapping[str, Any], method: str) -> str:
    if method == TOLERANCE:
        return "In three series of four it lies below the true 5 % value."
    if method == UNKNOWN:
        least = least_variation(inputs, method)
        return f"The next rod is weaker once in twenty; variation counted as {least:.2f} at least."
    return "The next rod is weaker once in twenty, if the variation stated is right."


def wear_result(inputs: Mapping[str, Any], losses: Losses) -> dict[str, Any]:
    """The wear fit, its points and its curve."""
    out: dict[str, Any] = {"fitted": losses.wear is not None}
    out |= {"tested_at_count": inputs["tested_at_assembly_count"]}
    if "assemblies_count" in inputs:
        out["assemblies_count"] = inputs["assemblies_count"]
    if losses.wear is not None:
        wear, points = losses.wear, inputs["reassembly"]
        last = max(int(points["assemblies"].max()), inputs.get("assemblies_count", 1), 2)
        along = np.geomspace(1.0, float(last), CURVE_POINTS)
        out |= {
            "exponent_ratio": wear.exponent,
            **_given("exponent_error_ratio", wear.exponent_error),
            "r_squared_ratio": wear.r_squared,
            "assemblies": points["assemblies"],
            "strength": points["strength"],
            "curve_assemblies": along,
            "curve_strength": wear.first * along**-wear.exponent,
        }
    return {**out, "factor_ratio": losses.wear_factor}


def standing_result(inputs: Mapping[str, Any], losses: Losses) -> dict[str, Any]:
    """The standing fit, its points and its curve (only as far as it stays above zero)."""
    out: dict[str, Any] = {
        "fitted": losses.standing is not None,
        "standing_days": inputs["standing_days"],
    }
    if losses.standing is not None:
        fit, points = losses.standing, inputs["standing"]
        days = points["days"]
        last = max(float(days.max()), inputs["standing_days"], 2.0)
        along = np.geomspace(min(float(days.min()), 1.0), last, CURVE_POINTS)
        curve = fit.first * (1.0 - fit.loss_per_decade * np.log10(along))
        out |= {
            "loss_per_decade_ratio": fit.loss_per_decade,
            **_given("loss_error_ratio", fit.loss_error),
            "r_squared_ratio": fit.r_squared,
            "days": days,
            "strength": points["strength"],
            "curve_days": along[curve > 0],
            "curve_strength": curve[curve > 0],
        }
    return {**out, "factor_ratio": losses.standing_factor}


def _given(name: str, value: float | None) -> dict[str, float]:
    return {} if value is None else {name: value}


def plot_result(inputs: Mapping[str, Any], sample: Sample, fits: Fits) -> dict[str, Any]:
    """Strengths on probability paper, with both fitted lines."""
    paper = paper_of(sample)
    fraction = fraction_of(inputs)
    names = ("/readings", "/proofs")
    strengths = sample.strengths_n
    complete = len(strengths) == len(sample.force_n)
    jacobian = float(np.log(strengths).sum())
    lines: list[dict[str, Any]] = []
    for distribution, fit, value in (
        ("normal", fits.normal, strengths),
        ("log-normal", fits.log, np.log(strengths)),
    ):
        quantile = np.linspace(-2.6, 2.6, CURVE_POINTS)
        force = fit.mean + fit.sample_sd * quantile
        force = np.exp(force) if distribution == "log-normal" else force
        line: dict[str, Any] = {
            "distribution": distribution,
            "force_n": force[force > 0],
            "quantile": quantile[force > 0],
        }
        if _spread(value):
            line["straightness_ratio"] = straightness(paper.quantile, value)
            if complete:
                line["normal_by_chance_ratio"] = normal_by_chance(value)
        shift = jacobian if distribution == "log-normal" else 0.0
        lines.append({**line, "log_likelihood": fit.log_likelihood - shift})
    better = max(lines, key=lambda line: line["log_likelihood"])
    return {
        "force_n": sample.force_n,
        "gave_way": [bool(yes) for yes in sample.gave_way],
        "sources": [f"{names[s]}/{k}" for s, k in zip(sample.series, sample.place, strict=True)],
        "strength_n": strengths,
        "probability_ratio": paper.probability,
        "quantile": paper.quantile,
        "fraction_ratio": fraction,
        "fraction_quantile": float(scipy.stats.norm.ppf(fraction)),
        "lines": lines,
        "better_distribution": better["distribution"],
    }


def _spread(value: Array) -> bool:
    return bool(np.ptp(value) > 1e-9 * abs(float(value.mean())))


def advice(
    inputs: Mapping[str, Any], fits: Fits | None, share_left: float, tests: int
) -> list[dict[str, Any]]:
    """What the next usual sample sizes would bring if mean and scatter stay as they are."""
    out = []
    proofs = 0 if fits is None else tests - fits.normal.strengths_count
    now = tests - proofs
    for count in next_steps(now, most=6):
        row: dict[str, Any] = {
            "count": count + proofs,
            "more_count": count - now,
            "factor_ratio": factor(inputs["method"], count, fraction_of(inputs)),
        }
        if fits is not None:
            there = _what_if(inputs, fits, share_left, count)
            row |= {k: there[k] for k in ("characteristic_n", "design_n") if k in there}
        out.append(row)
    return out


def _what_if(
    inputs: Mapping[str, Any], fits: Fits, share_left: float, count: int
) -> dict[str, Any]:
    method, distribution = inputs["method"], inputs["distribution"]
    return estimate(inputs, fits, method, distribution, share_left, count=count)


def count_for_needed(inputs: Mapping[str, Any], fits: Fits, share_left: float) -> int | None:
    """Strengths needed for the design value to reach `needed_n`, mean and scatter as they are."""
    there = _what_if(inputs, fits, share_left, fits.normal.strengths_count)
    aim = inputs["needed_n"] / share_left
    if "scatter_n" in there:
        room, scatter = fits.normal.mean - aim, there["scatter_n"]
    else:
        room, scatter = fits.log.mean - math.log(aim), there["log_scatter_ratio"]
    if room <= 0:
        return None
    # a hair less than asked, so that a value met exactly counts as met
    return count_for_factor(inputs["method"], room / scatter * (1 + 1e-9), fraction_of(inputs))


def patched_kit(kit: Mapping[str, Any], hub: str, tension: Mapping[str, float]) -> dict[str, Any]:
    """The kit as it came, `tension` put in place of the hub's own values."""
    hubs = [
        {**each, "tension_n": {**each["tension_n"], **tension}} if each["id"] == hub else each
        for each in kit["hubs"]
    ]
    return {**kit, "hubs": hubs}


def tested_hub(inputs: Mapping[str, Any]) -> str | None:
    """Id of the hub the tests belong to; None without a kit."""
    if "kit" not in inputs:
        return None
    first = next(hub["id"] for hub in inputs["kit"]["hubs"] if hub["role"] == "frame")
    return str(inputs.get("hub", first))


def tension_of(inputs: Mapping[str, Any], value: float) -> dict[str, float]:
    """Members of a hub's tension_n that the tests speak for."""
    names = ("held", "free") if inputs["halves"] == "one-piece" else (inputs["halves"],)
    return {name: value for name in names}


def seat_kind(inputs: Mapping[str, Any]) -> str:
    """Whether a seat keeps its force while it slips: 80 % of it after 3 mm (common practice)."""
    if "held_after_slip_ratio" not in inputs:
        return "unknown"
    return "slider" if inputs["held_after_slip_ratio"] >= 0.8 else "detent"
