"""The standard recording as one would write it for a paper: whole arrays, NumPy and SciPy, one core.

Does what src/core does, source by source, and draws as many random numbers where the model needs them:

- background EEG: one normal draw a sample and channel, coloured by the same ARMA(1, 1) with scipy.signal.lfilter, the
  channels mixed, a slow swell; muscle carrier drawn and filtered only while a burst lasts; mains as np.sin of each
  harmonic of a wandering phase; three electrodes that drift, joined by np.interp; white amplifier noise and its 1/f part
- the response of each presentation by np.interp of the same template, with its own latency and size
- input coupling, overload with its recovery tail (a loop over the samples concerned, if there are any), clip, 16 bits,
  over-range flags; band-pass with scipy.signal.sosfilt on the continuous signal; truth through the same filters
- sweeps cut by one index array; the four averages of both channels with their split buffers and noise claims. Only the
  Kalman-style one needs a loop over the sweeps.

Nothing is written slowly on purpose: memory is used freely, as such scripts do, and arrays are updated in place where
that reads as well. Elementary functions and filter design are NumPy's and SciPy's own; the generator is PCG64.

Reads the scenario as JSON from standard input, and the seed from the command line. Prints one line of JSON: seconds on
the clock and of processor time (without imports, after a first run to warm up), peak memory, and findings to compare.
"""

import json
import resource
import sys
import time

import numpy as np
from scipy import signal

LEAD_IN_S = 0.5
SLOW_STEP = 32  # samples between two draws of a slow process
MAINS_STEP = 256


def main():
    scenario = json.load(sys.stdin)
    seed = int(sys.argv[1])
    run(scenario, 1000 + seed)
    start, start_cpu = time.perf_counter(), time.process_time()
    sample_count, findings = run(scenario, seed)
    seconds, cpu_seconds = time.perf_counter() - start, time.process_time() - start_cpu
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    times = {"seconds": seconds, "cpuSeconds": cpu_seconds}
    print(json.dumps({**times, "sampleCount": sample_count, "peakMb": peak_mb, "findings": findings}))


def run(scenario, seed):
    rng = np.random.default_rng(seed)
    rate = scenario["converter"]["sampleRateHz"]
    window = scenario["window"]
    sweep_count = int(scenario["session"]["durationS"] * scenario["stimulus"]["ratePerS"])
    onsets_s = LEAD_IN_S + np.arange(sweep_count) / scenario["stimulus"]["ratePerS"]
    onsets = np.round(onsets_s * rate).astype(np.int64)
    before = round(window["preMs"] * rate / 1000)
    after = round(window["postMs"] * rate / 1000)
    n = int(onsets[-1]) + after

    truth = response(rng, scenario, rate, n, onsets)
    recorded = [
        clean + noise
        for clean, noise in zip(truth, all_noise(rng, scenario, rate, n))
    ]
    coupling, band_pass = filters(scenario, rate)
    converted = [front_end(signal.sosfilt(coupling, x), scenario, rate) for x in recorded]
    recorded = [signal.sosfilt(band_pass, x) for x, _ in converted]
    truth = [signal.sosfilt(band_pass, signal.sosfilt(coupling, x)) for x in truth]

    cut = onsets[:, None] + np.arange(-before, after)
    analysis = slice(before + round(window["analysisFromMs"] * rate / 1000), before + round(window["analysisToMs"] * rate / 1000))
    results = []
    for c in range(2):
        sweeps = recorded[c][cut]
        clean = truth[c][cut]
        over_range = converted[c][1][cut].any(axis=1)
        results.append((averages(sweeps, over_range, before, analysis, scenario, rate), sweeps, clean))
    return n, findings(results[0], analysis)


# --- what is recorded -------------------------------------------------------------------------------------------------


def response(rng, scenario, rate, n, onsets):
    spec = scenario["response"]
    shifts_ms = spec["latencyJitterMs"] * rng.standard_normal(len(onsets))
    sizes = spec["amplitudeScale"] * np.exp(spec["amplitudeLogSd"] * rng.standard_normal(len(onsets)))
    template_ms = np.arange(0, 18, 1000 / rate / 16)
    templates = [
        [click_abr(template_ms, scenario["stimulus"], polarity, contra) for contra in (False, True)] for polarity in (1, -1)
    ]
    times_ms = np.arange(int(0.019 * rate)) * 1000 / rate
    out = [np.zeros(n), np.zeros(n)]
    for k, onset in enumerate(onsets):
        at = times_ms[: n - onset] - shifts_ms[k]
        for c in range(2):
            wave = np.interp(at, template_ms, templates[k % 2][c], left=0, right=0)
            out[c][onset : onset + len(at)] += sizes[k] * wave
    return out


def click_abr(t, stimulus, polarity, contra):
    level, faster = stimulus["levelDbNhl"], stimulus["ratePerS"] - 10
    slow_v = 5.05 + 4.1 * np.exp(-level / 38)
    i_to_v = 3.95 - 0.003 * max(0, 60 - level)
    v = slow_v + 0.0055 * faster + (0.05 if contra else 0)
    i = slow_v - i_to_v + 0.0015 * faster + (-0.06 if polarity == -1 else 0)
    iii = slow_v - i_to_v * 1.85 / 3.95 + 0.003 * faster + (-0.1 if contra else 0)
    size_v = 0.5 * (1 - np.exp(-level / 35)) * max(0.1, 1 - 0.0025 * faster)
    size_i = 0.28 / (1 + np.exp(-(level - 62) / 9)) * np.exp(-faster / 70) * (1.15 if polarity == -1 else 1)
    size_iii = 0.26 / (1 + np.exp(-(level - 50) / 10))
    widening = 1 + 0.006 * max(0, 70 - level)
    waves = [  # latency ms, width ms, size µV, contralateral gain, trough ratio, trough delay ms
        (i, 0.2, size_i, 0.1, 0.6, None),
        (i + 1.05, 0.22, 0.45 * size_iii, 0.5, 0.6, None),
        (iii, 0.25, size_iii, 0.5, 0.6, None),
        (v - 0.55, 0.3, 0.55 * size_v * level / 85, 0.8, 0.6, None),
        (v, 0.36, size_v, 0.85, 0.9, 1.15),
        (v + 1.6, 0.4, 0.25 * size_v, 0.85, 0.6, None),
        (v + 2.4, 0.9, -0.3 * size_v, 0.85, 0, None),
    ]
    out = np.zeros_like(t)
    for latency, width, size, contra_gain, trough, delay in waves:
        width *= widening
        delay = 1.9 * width if delay is None else delay
        peak = np.exp(-0.5 * ((t - latency) / width) ** 2)
        dip = np.exp(-0.5 * ((t - latency - delay) / (1.4 * width)) ** 2)
        out += size * (contra_gain if contra else 1) * (peak - trough * dip)
    return out


def all_noise(rng, scenario, rate, n):
    noise = eeg(rng, scenario["eeg"], rate, n)
    add_muscle(rng, scenario["muscle"], rate, n, noise)
    add_mains(rng, scenario["mains"], rate, n, noise)
    add_drift(rng, scenario["drift"], rate, n, noise)
    add_amplifier(rng, scenario["amplifier"], rate, n, noise)
    return noise


def slow_process(rng, sd, memory_s, step_s, count):
    keep = np.exp(-step_s / memory_s)
    kicks = sd * np.sqrt(1 - keep * keep) * rng.standard_normal(count)
    kicks[0] = sd * rng.standard_normal()
    return signal.lfilter([1], [1, -keep], kicks)


def held(values, step, n):
    return np.repeat(values, step)[:n]


def eeg(rng, spec, rate, n):
    floor_uv = spec["floorNvPerRtHz"] / 1000 * np.sqrt(rate / 2)
    ar = np.exp(-2 * np.pi * spec["cornerHz"] / rate)
    c0 = spec["slowUv"] ** 2 * (1 - ar * ar) + floor_uv**2 * (1 + ar * ar)
    c1 = -ar * floor_uv**2
    innovation = (c0 + np.sqrt(c0 * c0 - 4 * c1 * c1)) / 2
    b, a = np.sqrt(innovation) * np.array([1, c1 / innovation]), [1, -ar]
    shared = spec["channelCorrelation"]
    ipsi = rng.standard_normal(n)
    contra = shared * ipsi + np.sqrt(1 - shared**2) * rng.standard_normal(n)
    steps = -(-n // SLOW_STEP)
    gain = held(np.exp(slow_process(rng, spec["gainLogSd"], spec["gainMemoryS"], SLOW_STEP / rate, steps)), SLOW_STEP, n)
    return [gain * signal.lfilter(b, a, white) for white in (ipsi, contra)]


def add_muscle(rng, spec, rate, n, noise):
    keep_high = np.exp(-2 * np.pi * spec["highHz"] / rate)
    keep_low = np.exp(-2 * np.pi * spec["lowHz"] / rate)
    low_pass = [0, 0, 0], [1, -keep_high, 0]
    sos = np.array([[1 - keep_high, 0, 0, *low_pass[1]]] * 2 + [[keep_low, -keep_low, 0, 1, -keep_low, 0]])
    impulse = np.zeros(int(6 * rate / spec["lowHz"]))
    impulse[0] = 1
    scale = 1 / np.sqrt(np.sum(signal.sosfilt(sos, impulse) ** 2))
    gains = [scale, scale * spec["contralateralGain"]]
    onset_s = rng.exponential(1 / spec["burstsPerS"])
    while onset_s * rate < n:
        start = int(np.ceil(onset_s * rate))
        length = int(spec["durationS"] * np.exp(spec["durationLogSd"] * rng.standard_normal()) * rate)
        size = spec["burstUv"] * np.exp(spec["burstLogSd"] * rng.standard_normal())
        rise = int((0.03 + 0.05 * rng.random()) * rate)
        length = max(length, 2 * rise)
        edge = np.minimum(np.arange(length), np.arange(length)[::-1])
        u = np.minimum(edge / rise, 1)
        envelope = size * u * u * (3 - 2 * u)
        stop = min(n, start + length)
        for c in range(2):
            carrier = signal.sosfilt(sos, rng.standard_normal(length))
            noise[c][start:stop] += gains[c] * (envelope * carrier)[: stop - start]
        onset_s += rng.exponential(1 / spec["burstsPerS"])


def add_mains(rng, spec, rate, n, noise):
    steps = -(-n // MAINS_STEP)
    wander = slow_process(rng, spec["wanderHz"], spec["wanderMemoryS"], MAINS_STEP / rate, steps)
    phase = np.cumsum(held(2 * np.pi * (spec["lineHz"] + wander) / rate, MAINS_STEP, n))
    for h, ratio in enumerate(spec["harmonicRatios"]):
        for c, gain in enumerate([1, spec["contralateralGain"]]):
            start = rng.uniform(0, 2 * np.pi)
            if ratio > 0:
                noise[c] += spec["fundamentalUv"] * ratio * gain * np.sin((h + 1) * phase + start)


def add_drift(rng, spec, rate, n, noise):
    steps = np.arange(0, n + SLOW_STEP, SLOW_STEP)
    size = spec["walkUvPerRtS"] * np.sqrt(SLOW_STEP / rate)
    vertex, left, right = (np.cumsum(size * rng.standard_normal(len(steps))) for _ in range(3))
    samples = np.arange(n)
    noise[0] += np.interp(samples, steps, vertex - left)
    noise[1] += np.interp(samples, steps, vertex - right)


def add_amplifier(rng, spec, rate, n, noise):
    density = spec["noiseNvPerRtHz"] / 1000
    corner = spec["flickerCornerHz"]
    steps = -(-n // SLOW_STEP)
    for c in range(2):
        noise[c] += density * np.sqrt(rate / 2) * rng.standard_normal(n)
        sd = density * np.sqrt(corner * np.log(10))
        flicker = sum(
            slow_process(rng, sd, below / (2 * np.pi * corner), SLOW_STEP / rate, steps) for below in (1, 10, 100)
        )
        noise[c] += held(flicker, SLOW_STEP, n)


# --- the chain --------------------------------------------------------------------------------------------------------


def filters(scenario, rate):
    spec = scenario["filter"]
    coupling = signal.butter(1, scenario["amplifier"]["couplingHz"], "high", fs=rate, output="sos")
    high = signal.butter(spec["highPassOrder"], spec["highPassHz"], "high", fs=rate, output="sos")
    low = signal.butter(spec["lowPassOrder"], spec["lowPassHz"], "low", fs=rate, output="sos")
    return coupling, np.vstack([high, low])


def front_end(x, scenario, rate):
    """Returns the converted signal and, for each sample, whether it is over-range or within the guard time."""
    limit = scenario["amplifier"]["rangeUv"]
    fade = np.exp(-1000 / rate / scenario["amplifier"]["recoveryMs"])
    driven = np.flatnonzero(np.abs(x) >= limit)
    done = 0
    for first in driven:  # overload: the offset runs on until it has faded, then the next overload counts
        if first < done:
            continue
        offset, i = 0.0, first
        while i < len(x) and (i == first or abs(offset) > 1e-9):
            u = x[i] + offset
            x[i] = min(max(u, -limit), limit)
            offset = offset * fade - (1 - fade) * (u - x[i])
            i += 1
        done = i
    top = 2 ** (scenario["converter"]["bits"] - 1)
    code = np.clip(np.round(x * (top / limit)), -top, top - 1)
    rail = (code >= top - 2) | (code <= 1 - top)
    flags = np.zeros(len(x), dtype=bool)
    guard = round(scenario["converter"]["guardMs"] * rate / 1000)
    for i in np.flatnonzero(rail[2:] & rail[1:-1] & rail[:-2]):
        flags[i : i + 3 + guard] = True
    return code * (limit / top), flags


# --- the averages -----------------------------------------------------------------------------------------------------


def averages(sweeps, over_range, before, analysis, scenario, rate):
    spec = scenario["averaging"]
    in_a = np.arange(len(sweeps)) % 4 < 2
    power = np.mean(sweeps[:, analysis] ** 2, axis=1)
    good = ~over_range
    skip = before + round(spec["thresholdRejection"]["skipMs"] * rate / 1000)
    judged = np.concatenate([sweeps[:, :before], sweeps[:, skip:]], axis=1)
    small = good & (np.abs(judged).max(axis=1) < spec["thresholdRejection"]["thresholdUv"])
    return {
        "plain-mean": mean_of(sweeps, good, in_a, power, analysis),
        "threshold-rejection": mean_of(sweeps, small, in_a, power, analysis),
        "block-weighting": block_weighting(sweeps[good], in_a[good], analysis, spec["blockWeighting"]),
        "kalman": kalman(sweeps, good, in_a, analysis, spec["kalman"]),
    }


def mean_of(sweeps, taken, in_a, power, analysis):
    n = np.count_nonzero(taken)
    a, b = sweeps[taken & in_a].sum(axis=0), sweeps[taken & ~in_a].sum(axis=0)
    estimate = (a + b) / n
    claim = np.sqrt((power[taken].sum() - n * np.mean(estimate[analysis] ** 2)) / (n - 1) / n)
    return estimate, a / np.count_nonzero(taken & in_a), b / np.count_nonzero(taken & ~in_a), claim


def block_weighting(sweeps, in_a, analysis, spec):
    length = spec["blockLength"]
    count = len(sweeps) // length
    blocks = sweeps[: count * length].reshape(count, length, -1)
    variance = blocks[:, :, analysis].var(axis=1, ddof=1).mean(axis=1) + spec["varianceFloorUv2"]
    weight = np.repeat(1 / variance, length)
    sides = []
    for side in (in_a, ~in_a):
        w = np.where(side[: count * length], weight, 0)
        sides.append(((w[:, None] * sweeps[: count * length]).sum(axis=0), w.sum()))
    (a, weight_a), (b, weight_b) = sides
    freedom = (length - 1) * spec["independentPoints"]
    claim = np.sqrt(freedom / (freedom - 2) / (weight_a + weight_b))
    return (a + b) / (weight_a + weight_b), a / weight_a, b / weight_b, claim


def kalman(sweeps, good, in_a, analysis, spec):
    estimate = np.zeros(sweeps.shape[1])
    halves = [np.zeros(sweeps.shape[1]), np.zeros(sweeps.shape[1])]
    weights = [0.0, 0.0]
    doubt, noise, memory = 1e6, None, spec["noiseMemory"]
    for sweep, taken, side in zip(sweeps, good, in_a):
        predicted = doubt + spec["processNoiseUv2"]
        doubt = predicted
        if not taken:
            continue
        difference = sweep - estimate
        fresh = np.mean(difference[analysis] ** 2)
        if noise is not None:
            fresh = memory * noise + (1 - memory) * fresh * noise / (noise + predicted)
        noise = max(fresh, spec["noiseFloorUv2"])
        gain = predicted / (predicted + noise)
        half = 0 if side else 1
        for j in range(2):
            halves[j] *= 1 - gain
            weights[j] *= 1 - gain
        halves[half] += gain * sweep
        weights[half] += gain
        estimate = (halves[0] + halves[1]) / (weights[0] + weights[1])
        doubt = (1 - gain) * predicted
    return estimate, halves[0] / weights[0], halves[1] / weights[1], np.sqrt(doubt)


def findings(result, analysis):
    lanes, sweeps, clean = result
    truth = clean.mean(axis=0)[analysis]
    noise = np.sqrt(np.mean((sweeps[:, analysis] - clean[:, analysis]) ** 2, axis=1))
    quiet = np.median(noise)
    return {
        "quietNoiseUv": quiet,
        "loudShare": np.mean(noise > 2 * quiet),
        "responseUv": np.sqrt(np.mean(truth**2)),
        "residualNoiseUv": {
            name: np.sqrt(np.mean((lane[0][analysis] - truth) ** 2)) for name, lane in lanes.items()
        },
    }


if __name__ == "__main__":
    main()
