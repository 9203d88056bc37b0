import { testContacts } from '../../core/chain/contact.ts';
import { pickupByPath } from '../../core/noise/pickupPaths.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { NoiseLedger } from '../../core/session/ledger.ts';
import type { RaceResult } from '../../core/session/race.ts';
import type { FullRun } from '../worker/fullRun.ts';
import type { Bench } from './bench.ts';
import { pairedLanes } from './comparison.ts';
import type { CurveTable } from './curveTables.ts';
import { laneLetters } from './narration.ts';
import { HARMONICS, harmonicDistance, lockDistances, rateBounds, traces } from './rateAdvice.ts';

/** An element that shows curves beyond those of the bench, and gives them as tables. */
export interface TableHost {
  /** What it shows now; what is sealed is left out. */
  tables(): CurveTable[];
  /** Pictures of it that are SVG already. */
  drawings?(): SVGSVGElement[];
}

/** What lies over the trace on the desk, µV; null for nothing. */
export function overlayOf({ desk, record, kept }: Bench): { samplesUv: Float32Array; claimUv: number } | null {
  const { overlay } = desk;
  if (overlay.kind === 'none') return null;
  const lanes = overlay.kind === 'lane' ? record.lanes : (kept?.record.lanes ?? []);
  const found = lanes[overlay.kind === 'lane' ? overlay.lane : desk.trace.lane];
  return found ? { samplesUv: found.averageUv, claimUv: found.reading.ownNoiseUv } : null;
}

/** The reading desk: its curves, and what is marked on them. */
export function deskTables({ desk, truthSealed }: Bench): CurveTable[] {
  return [
    {
      id: 'desk',
      label: 'Reading desk: average, buffers, overlay',
      rows(bench) {
        const { averageUv, bufferAUv, bufferBUv, truthUv } = desk.trace;
        const over = overlayOf(bench)?.samplesUv;
        const overlaid = over?.length === averageUv.length ? over : null;
        const header = ['timeMs', `${laneLetters[desk.trace.lane]} (µV)`, 'buffer A (µV)', 'buffer B (µV)'];
        const rows = Array.from(averageUv, (uv, i) => [
          ...[timeMs(bench, i), uv, bufferAUv[i], bufferBUv[i]],
          ...(overlaid ? [overlaid[i], uv - overlaid[i]] : []),
          ...(truthSealed ? [] : [truthUv[i]]),
        ]);
        const more = overlaid ? ['over it (µV)', 'difference (µV)'] : [];
        return [[...header, ...more, ...(truthSealed ? [] : ['truth (µV)'])], ...rows];
      },
    },
    {
      id: 'marks',
      label: 'Reading desk: marks and figures',
      rows() {
        const { peaks, figures, errors } = desk.reading;
        const told = desk.committed !== null && !truthSealed;
        const header = ['name', 'unit', 'value', 'sd', 'low95', 'high95', ...(told ? ['error'] : [])];
        const ofPeaks = peaks.flatMap((peak) => {
          const error = errors.find(({ name }) => name === peak.name);
          const size = Number.isFinite(peak.toTroughUv)
            ? [`${peak.name} to its trough`, 'µV', peak.toTroughUv, peak.toTroughSdUv]
            : [`${peak.name} from the baseline`, 'µV', peak.amplitudeUv, peak.amplitudeSdUv];
          const sizeError = Number.isFinite(peak.toTroughUv) ? error?.toTroughErrorUv : error?.amplitudeErrorUv;
          return [
            [
              peak.name,
              'ms',
              peak.latencyMs,
              peak.latencySdMs,
              NaN,
              NaN,
              ...(told ? [error?.latencyErrorMs ?? NaN] : []),
            ],
            [...size, NaN, NaN, ...(told ? [sizeError ?? NaN] : [])],
          ];
        });
        const ofFigures = figures
          .filter(({ meaningful }) => meaningful)
          .map(({ name, unit, value, sd, low, high }) => [name, unit, value, sd, low, high, ...(told ? [NaN] : [])]);
        return [header, ...ofPeaks, ...ofFigures];
      },
    },
  ];
}

/** The series over level: its averages, and its log. */
export function seriesTables(): CurveTable[] {
  return [
    {
      id: 'levels',
      label: 'Series: averages at all levels',
      rows(bench) {
        const runs = bench.series;
        if (runs.length === 0) return [];
        const name = (k: number) => `${runs[k].levelDb} dB nHL, run ${k + 1}`;
        const header = runs.flatMap((_, k) => [
          `${name(k)} (µV)`,
          `${name(k)} buffer A (µV)`,
          `${name(k)} buffer B (µV)`,
        ]);
        const rows = Array.from(runs[0].averageUv, (_, i) => [
          timeMs(bench, i),
          ...runs.flatMap(({ averageUv, bufferAUv, bufferBUv }) => [averageUv[i], bufferAUv[i], bufferBUv[i]]),
        ]);
        return [['timeMs', ...header], ...rows];
      },
    },
    {
      id: 'level-log',
      label: 'Series: log, latency against level',
      rows(bench) {
        const header = [
          'levelDbNhl',
          'seed',
          'sweeps',
          'seconds',
          'ownClaimNv',
          'waveVMs',
          'waveVSdMs',
          'youSay',
          'ruleSays',
        ];
        const rows = bench.series.map(
          ({ levelDb, seed, sweepCount, seconds, ownNoiseUv, peaks, ownVerdict, ruleVerdict }) => {
            const wave = peaks.find((peak) => peak.name === 'V' && peak.clear);
            const words = [ownVerdict ?? '', ownVerdict === null ? '' : ruleVerdict];
            return [
              ...[levelDb, seed, sweepCount, seconds, 1000 * ownNoiseUv],
              ...[wave?.latencyMs ?? NaN, wave?.latencySdMs ?? NaN, ...words],
            ];
          },
        );
        return [header, ...rows];
      },
    },
  ];
}

/** The lock map of the rate adviser, for both supplies. */
export function rateTables(): CurveTable[] {
  const lines = [50, 60];
  return [
    {
      id: 'locks',
      label: 'Rates: turns from the nearest lock',
      rows({ scenario }) {
        const { from, to } = rateBounds(scenario);
        const step = to < 10 ? 0.01 : 0.1;
        const count = Math.floor((to - from) / step) + 1;
        const columns = lines.flatMap((lineHz) => [
          ...Array.from({ length: HARMONICS }, (_, h) => `${lineHz} Hz harmonic ${h + 1}`),
          ...traces.map(({ name }) => `${lineHz} Hz ${name}`),
        ]);
        const rows = Array.from({ length: count }, (_, k) => {
          const ratePerS = Number((from + k * step).toFixed(2));
          return [
            ratePerS,
            ...lines.flatMap((lineHz) => [
              ...Array.from({ length: HARMONICS }, (_, h) => harmonicDistance(ratePerS, lineHz, h + 1)),
              ...lockDistances(ratePerS, lineHz),
            ]),
          ];
        });
        return [['ratePerS', ...columns], ...rows];
      },
    },
  ];
}

/** Where the hum comes in, and how the electrodes stand. @param now - the scenario as it holds at the moment */
export function rigTables(now: Scenario): CurveTable[] {
  return [
    {
      id: 'pickup',
      label: 'Leads: pickup by entry path',
      rows() {
        const paths = pickupByPath(now);
        const sides = ['ipsilateral', 'contralateral'];
        const header = sides.flatMap((side, c) => [
          `${side} (µV peak)`,
          ...paths[0].harmonicsUv[c].map((_, h) => `${side} harmonic ${h + 1} (µV peak)`),
        ]);
        const rows = paths.map(({ label, totalUv, harmonicsUv }) => [
          label,
          ...sides.flatMap((_, c) => [totalUv[c], ...harmonicsUv[c]]),
        ]);
        return [['path', ...header], ...rows];
      },
    },
    {
      id: 'contacts',
      label: 'Leads: impedance of the electrodes',
      rows: () => [
        ['electrode', 'testedKohm'],
        ...testContacts(now).map(({ electrode, testedKohm }) => [electrode, testedKohm]),
      ],
    },
  ];
}

/** Two runs of one patient: their averages and differences, and what each lane has come to. */
export function comparisonTables(
  before: FullRun,
  after: FullRun,
  scenario: Scenario,
  showTruth: boolean,
): CurveTable[] {
  const pairs = pairedLanes(before, after, scenario);
  return [
    {
      id: 'before-after',
      label: 'Compare: averages before and after',
      rows(bench) {
        const name = (lane: number) => `${laneLetters[lane]} ${pairs[lane].strategy}`;
        const header = pairs.flatMap((_, k) =>
          ['before', 'after', 'difference'].map((word) => `${name(k)} ${word} (µV)`),
        );
        const rows = Array.from(after.truthUv, (uv, i) => [
          timeMs(bench, i),
          ...pairs.flatMap(({ differenceUv }, k) => [
            before.lanes[k].averageUv[i] ?? NaN,
            after.lanes[k].averageUv[i],
            differenceUv?.[i] ?? NaN,
          ]),
          ...(showTruth ? [uv] : []),
        ]);
        return [['timeMs', ...header, ...(showTruth ? ['truth after (µV)'] : [])], ...rows];
      },
    },
    {
      id: 'before-after-lanes',
      label: 'Compare: lanes before and after',
      rows() {
        const truth = showTruth ? ['trueNoiseNv', 'gain', 'secondsToTarget'] : [];
        const header = ['before', 'after'].flatMap((word) => ['ownClaimNv', ...truth].map((name) => `${word} ${name}`));
        const rows = pairs.map(({ strategy, before: earlier, after: later, differenceRmsUv }, lane) => [
          `${laneLetters[lane]} ${strategy}`,
          ...[earlier, later].flatMap(({ claimUv, noiseUv, gain, arrivalS }) => [
            1000 * claimUv,
            ...(showTruth ? [1000 * noiseUv, gain, arrivalS] : []),
          ]),
          1000 * differenceRmsUv,
        ]);
        return [['lane', ...header, 'differenceRmsNv'], ...rows];
      },
    },
  ];
}

/** What the unsealed truth tells; nothing while it is sealed. @param others - replicates, where they were run */
export function verdictTables(
  { truthSealed }: Bench,
  ledgers: readonly NoiseLedger[] | null,
  others: RaceResult | null,
): CurveTable[] {
  if (truthSealed) return [];
  const claims: CurveTable = {
    id: 'claims',
    label: 'Verdict: claim over true noise against seconds',
    rows: ({ record }) => [
      ['seconds', 'sweeps', ...record.lanes.map(({ strategy }, lane) => `${laneLetters[lane]} ${strategy}`)],
      ...record.checkpoints.map(({ seconds, sweeps, lanes }) => [
        ...[seconds, sweeps, ...lanes.map(({ ownNoiseUv, residualNoiseUv }) => ownNoiseUv / residualNoiseUv)],
      ]),
    ],
  };
  const ledger = (found: readonly NoiseLedger[]): CurveTable => ({
    id: 'ledger',
    label: 'Verdict: what the error is made of',
    rows: () => [
      ['source', ...found.map(({ strategy }, lane) => `${laneLetters[lane]} ${strategy} (nV rms)`)],
      ...found[0].rows.map(({ label }, k) => [label, ...found.map(({ rows }) => rows[k].rmsNv)]),
      ['error of the average', ...found.map(({ totalNv }) => totalNv)],
    ],
  });
  return [
    claims,
    ...(ledgers && ledgers.length > 0 ? [ledger(ledgers)] : []),
    ...(others ? [patientTable('Verdict: other patients of this kind', others)] : []),
  ];
}

/** What replicate patients have come to: their ends, lane by lane. */
function patientTable(label: string, result: RaceResult): CurveTable {
  return {
    id: 'patients',
    label,
    rows: () => [
      ['lane', 'patient', 'trueNoiseNv', 'gain', 'secondsToTarget'],
      ...[...result.lanes, ...(result.oracle ? [result.oracle] : [])].flatMap(({ strategy, runs }, lane) =>
        runs.map(({ noiseNv, gain, arrivalS }, k) => [
          `${laneLetters[lane] ?? ''} ${strategy}`.trim(),
          ...[k + 1, noiseNv, gain, arrivalS],
        ]),
      ),
    ],
  };
}

/** The race over replicate patients: expected noise against seconds, and each patient's end. */
export function expectedTables(result: RaceResult): CurveTable[] {
  return [
    {
      id: 'expected',
      label: 'Race: expected noise over patients',
      rows: () => [
        [
          'seconds',
          ...result.lanes.flatMap(({ strategy }, lane) =>
            ['expected residual noise', 'own claim'].map((word) => `${laneLetters[lane]} ${strategy} ${word} (nV)`),
          ),
        ],
        ...result.lanes[0].curve.map(({ seconds }, j) => [
          seconds,
          ...result.lanes.flatMap(({ curve }) => [curve[j].noiseNv, curve[j].ownNoiseNv]),
        ]),
      ],
    },
    patientTable('Race: other patients of this kind', result),
  ];
}

function timeMs({ record, scenario }: Bench, sample: number): number {
  return ((sample - record.preSampleCount) * 1000) / scenario.converter.sampleRateHz;
}
