"""The result, put together from the study."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from .closed import closed_solution
from .fluid import FluidStop
from .history import History
from .recovery import back_to_usual
from .statistics import Mean, mean_of, median, share_of
from .study import Runs, Study

Value = dict[str, Any]


def value_of(study: Study, fluid: FluidStop | None, inputs: Mapping[str, Any]) -> Value:
    """Everything but the statement."""
    settled = study.settled
    value: Value = {}
    flow = _round_rate(study)
    if settled.asked_per_s is not None:
        value["required_balls_per_min"] = settled.asked_per_s * 60.0
    value["flow_per_min"] = flow * 60.0
    if settled.most_per_s is not None:
        value["most_per_min"] = settled.most_per_s * 60.0
    if settled.asked_per_s is not None and settled.round_per_s is not None:
        short = settled.asked_per_s - settled.round_per_s
        if short > 1e-6 * settled.asked_per_s:
            value["short_by_per_min"] = short * 60.0
    value["piles_up"] = _piles(study)
    value["conservation"] = _conservation(study)
    value["balls"] = _balls(study)
    shown = study.runs[-1] if study.runs else None
    value["places"] = [_place(study, shown, k) for k in range(len(study.machine.places))]
    if shown is not None:
        value["simulated_routing"] = shown.routing
    value |= {"seed": inputs["seed"], "settle_s": study.settle_s, "duration_s": study.duration_s}
    value["simulations"] = [_simulation(study, runs, inputs) for runs in study.runs]
    if fluid is not None:
        value["fluid"] = _fluid(fluid)
    return value


def _round_rate(study: Study) -> float:
    if study.settled.round_per_s is not None:
        return study.settled.round_per_s
    return math.fsum(place.feed_per_s for place in study.machine.places)


def _piles(study: Study) -> list[Value]:
    machine, asked = study.machine, study.settled.asked
    found = []
    for k, place in enumerate(machine.places):
        if place.kind == "basket":
            continue
        here = float(asked.overflowing[k] + asked.piling[k])
        end = machine.overflow_of(k)
        lane = end is not None and machine.places[end].kind != "basket"
        if here * 60.0 <= 1e-6 or lane:
            continue
        pile: Value = {"id": place.id, "balls_per_min": here * 60.0}
        if end is not None:
            pile["overflows_to"] = machine.places[end].id
        found.append(pile)
    return found


def _conservation(study: Study) -> Value:
    machine, asked = study.machine, study.settled.asked
    baskets = machine.indices("basket")
    off = math.fsum(float(asked.arriving[k]) for k in baskets)
    gathering = math.fsum(
        float(asked.piling[k]) for k in range(len(machine.places)) if k not in baskets
    )
    if machine.entry is None:
        put_in = math.fsum(place.feed_per_s for place in machine.places)
        returned = math.fsum(float(asked.arriving[k]) for k in machine.indices("drain"))
    else:
        put_in = float(asked.arriving[machine.entry])
        drains = math.fsum(float(asked.arriving[k]) for k in machine.indices("drain"))
        returned = asked.returned + drains
    parts = {
        "put_in_per_min": put_in,
        "returned_per_min": returned,
        "off_per_min": off,
        "gathering_per_min": gathering,
        "difference_per_min": put_in - returned - off - gathering,
    }
    return {key: part * 60.0 for key, part in parts.items()}


def _balls(study: Study) -> Value:
    found = study.circulation
    return {
        "on_tracks_count": found.on_tracks,
        "on_lifts_count": found.on_lifts,
        "in_queue_count": found.in_queue,
        "in_basin_count": found.in_basin,
        "in_use_count": found.in_use,
        "needed_count": found.needed,
        "order_count": found.order,
        "spare_count": found.order - found.needed,
        "spill_basket_count": math.ceil(found.on_tracks - 1e-9),
        "round_s": study.round_s,
    }


def _place(study: Study, runs: Runs | None, k: int) -> Value:
    place, rates = study.machine.places[k], study.settled.rates
    value: Value = {
        "id": place.id,
        "kind": place.kind,
        "rate_per_min": float(rates.arriving[k]) * 60.0,
        "hold_up_count": float(study.settled.held[k]),
    }
    capacity = float(rates.capacity[k])
    if math.isfinite(capacity):
        value["capacity_per_min"] = capacity * 60.0
        if capacity > 0.0:
            value["used_ratio"] = float(rates.passed[k]) / capacity
    if rates.overflowing[k] > 0.0:
        value["overflow_per_min"] = float(rates.overflowing[k]) * 60.0
    if runs is None:
        return value
    value["simulated"] = simulated = _simulated(runs.settled, study, k)
    closed = closed_solution(runs.machine, k, float(rates.arriving[k]))
    if closed is not None:
        half = simulated.get("mean_count_half_width")
        value["closed_solution"] = {
            key: found
            for key, found in (
                ("model", closed.model),
                ("mean_count", closed.mean_count),
                ("mean_wait_s", closed.mean_wait_s),
                ("busy_ratio", closed.busy_ratio),
                ("lost_ratio", closed.lost_ratio),
            )
            if found is not None
        }
        if half is not None:
            gap = abs(simulated["mean_count"] - closed.mean_count)
            value["closed_solution"]["agrees"] = gap <= half
    return value


def _simulated(histories: Sequence[History], study: Study, k: int) -> Value:
    seconds = study.duration_s
    records = [history.places[k] for history in histories]
    value: Value = {}
    rate = mean_of([record.arrived / seconds * 60.0 for record in records])
    _put(value, "rate_per_min", rate, "rate_half_width_per_min")
    count = mean_of([record.area / seconds for record in records])
    _put(value, "mean_count", count, "mean_count_half_width")
    left = sum(record.left for record in records)
    kind = study.machine.places[k].kind
    if left and kind in ("path", "station", "line", "lift"):
        value["stay_s"] = stay = math.fsum(record.stay_s for record in records) / left
        through = left / (seconds * len(records))
        if count.value > 1e-9:
            value["little_gap_ratio"] = through * stay / count.value - 1.0
    value["peak_count"] = max(record.peak for record in records)
    arrived = [record for record in records if record.arrived]
    if kind == "station" and arrived:
        busy = mean_of([(r.waited + r.turned_away) / r.arrived for r in arrived])
        _put(value, "busy_ratio", busy, "busy_half_width_ratio")
    if study.machine.overflow_of(k) is not None and arrived:
        lost = mean_of([record.turned_away / record.arrived for record in arrived])
        _put(value, "lost_ratio", lost, "lost_half_width_ratio")
    return value


def _put(value: Value, key: str, mean: Mean, half_key: str) -> None:
    value[key] = mean.value
    if mean.half_width is not None:
        value[half_key] = mean.half_width


def _simulation(study: Study, runs: Runs, inputs: Mapping[str, Any]) -> Value:
    everything = [*runs.settled, *runs.struck, *runs.room]
    value: Value = {"routing": runs.routing, "runs_count": len(runs.settled)}
    entry = study.machine.entry
    if entry is not None:
        value["moving_count"] = runs.balls
        rates = [h.places[entry].arrived / study.duration_s * 60.0 for h in runs.settled]
    else:
        feeds = study.machine.indices("feed")
        rates = [
            sum(h.places[k].arrived for k in feeds) / study.duration_s * 60.0 for h in runs.settled
        ]
    _put(value, "flow_per_min", mean_of(rates), "flow_half_width_per_min")
    value["usual_waiting_count"] = runs.usual
    value["unaccounted_count"] = sum(
        abs(h.put_in + h.fed - h.drained - h.in_baskets - h.on_machine) for h in everything
    )
    value["events_count"] = sum(h.events for h in everything)
    if runs.struck:
        value["stop"] = _stop(study, runs, inputs)
    return value


def _stop(study: Study, runs: Runs, inputs: Mapping[str, Any]) -> Value:
    firsts = [
        min((o.stop_s for o in outages), default=study.duration_s) for outages in runs.outages
    ]
    count = len(runs.struck)
    told = {} if inputs["random_failures"] else {o.lift: None for o in runs.outages[0]}
    value: Value = {
        "lifts_stopped": [study.machine.places[k].id for k in told],
        "first_stop_s": math.fsum(firsts) / count,
        "down_s": math.fsum(h.down_s for h in runs.struck) / count,
    }
    extra = [max(h.most_waiting - runs.usual, 0.0) for h in runs.room]
    _put(value, "peak_extra_count", mean_of(extra), "peak_extra_half_width")
    value["peak_extra_high_count"] = float(np.quantile(extra, 0.95))
    late = [max(h.most_waiting_s - f, 0.0) for h, f in zip(runs.room, firsts, strict=True)]
    value["peak_s"] = math.fsum(late) / count
    spilt = [_first_spill(h, study) for h in runs.struck]
    when = [max(s - f, 0.0) for s, f in zip(spilt, firsts, strict=True) if s is not None]
    share, low, high = share_of(len(when), count)
    value |= {"overflow_ratio": share, "overflow_low_ratio": low, "overflow_high_ratio": high}
    if when:
        value |= {"overflow_s": median(when), "overflow_earliest_s": min(when)}
    off = mean_of([float(h.most_in_baskets) for h in runs.struck])
    _put(value, "balls_off_count", off, "balls_off_half_width")
    value["balls_off_most_count"] = max(h.most_in_baskets for h in runs.struck)
    _recovery(value, study, runs)
    if study.machine.entry is not None:
        late_from = 0.75 * study.duration_s
        entered = sum(sum(t > late_from for t in h.entered_s) for h in runs.struck)
        value["flow_after_per_min"] = entered / (0.25 * study.duration_s * count) * 60.0
    value["reached"] = _reached(study, runs, firsts)
    value["timeline"] = _timeline(runs)
    return value


def _first_spill(history: History, study: Study) -> float | None:
    machine = study.machine
    found = []
    for k, record in enumerate(history.places):
        end = machine.overflow_of(k)
        off = end is not None and machine.places[end].kind == "basket"
        if off and record.turned_away_s is not None:
            found.append(record.turned_away_s)
    return min(found, default=None)


def _recovery(value: Value, study: Study, runs: Runs) -> None:
    late = []
    for history, outages in zip(runs.struck, runs.outages, strict=True):
        backs = [o.back_s for o in outages if o.back_s <= study.duration_s]
        if backs and len(backs) == len(outages):
            seconds = back_to_usual(history, runs.settled, max(backs), study)
            late += [] if seconds is None else [seconds]
    value["recovered_ratio"] = len(late) / len(runs.struck)
    if late:
        _put(value, "recovery_s", mean_of(late), "recovery_half_width_s")


def _reached(study: Study, runs: Runs, firsts: Sequence[float]) -> list[Value]:
    found = []
    for k in study.machine.indices("line"):
        room = study.machine.places[k].places
        if room is not None:
            times = [h.places[k].full_s for h in runs.struck]
            found.append(_when(study.machine.places[k].id, "line", room, times, firsts))
    for row, (name, count, _) in enumerate(runs.watches):
        found.append(_when(name, "mark", count, [h.watch_s[row] for h in runs.struck], firsts))
    return found


def _when(
    name: str, kind: str, count: int, times: Sequence[float | None], firsts: Sequence[float]
) -> Value:
    late = [max(t - f, 0.0) for t, f in zip(times, firsts, strict=True) if t is not None]
    share, low, high = share_of(len(late), len(times))
    value: Value = {
        "id": name,
        "kind": kind,
        "waiting_count": count,
        "reached_ratio": share,
        "reached_low_ratio": low,
        "reached_high_ratio": high,
    }
    if late:
        value |= {"median_s": median(late), "earliest_s": min(late)}
    return value


def _timeline(runs: Runs) -> Value:
    waiting = np.array([h.waiting for h in runs.struck], dtype=float)
    off = np.array([h.off for h in runs.struck], dtype=float)
    return {
        "time_s": np.array(runs.struck[0].sample_s),
        "waiting_mean_count": waiting.mean(axis=0),
        "waiting_low_count": np.quantile(waiting, 0.05, axis=0),
        "waiting_high_count": np.quantile(waiting, 0.95, axis=0),
        "off_mean_count": off.mean(axis=0),
        "off_low_count": np.quantile(off, 0.05, axis=0),
        "off_high_count": np.quantile(off, 0.95, axis=0),
    }


def _fluid(fluid: FluidStop) -> Value:
    found = fluid.gathering
    value: Value = {
        "stopped": list(fluid.stopped),
        "time_s": np.array(found.time_s),
        "extra_count": np.array(found.extra_balls),
        "peak_extra_count": found.peak_balls,
        "peak_s": found.peak_s,
    }
    if found.overflow_s is not None:
        value["overflow_s"] = found.overflow_s
    return value
