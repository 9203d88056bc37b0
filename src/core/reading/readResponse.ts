import type { Scenario } from '../scenario/schema.ts';
import { heardBeatHz } from '../stimulus/heardBeat.ts';
import { brainstemFigures } from './brainstemFigures.ts';
import { readCochlear } from './cochlearFigures.ts';
import { type Figure, figure } from './figure.ts';
import { muscleFigures } from './muscleFigures.ts';
import type { NoiseShape } from './noiseShape.ts';
import { peakRules } from './peakRules.ts';
import { readBeat } from './readBeat.ts';
import { type ReadPeak, readPeaks, type TimeAxis } from './readPeaks.ts';

/** Everything that is read off one average. */
export interface ResponseReading {
  /** In order of latency; empty for a steady-state response. */
  peaks: ReadPeak[];
  figures: Figure[];
}

/** What the reading of a response needs besides the trace. */
export interface ReadingContext extends TimeAxis {
  /** Analysis window as samples [from, to): a steady-state response is read here. */
  analysisFrom: number;
  analysisTo: number;
  /** Mean rectified activity before the stimulus, µV; NaN for none: a cervical response is then not corrected. */
  rectifiedUv: number;
}

/**
 * Reads the peaks and figures that belong to a kind of response.
 *
 * A silent ear is read as what its stimulus would evoke: a reader does not know that nobody answers.
 *
 * @param traceUv - average, or truth with `NO_NOISE`, µV
 */
export function readResponse(
  scenario: Scenario,
  traceUv: Float64Array,
  context: ReadingContext,
  noise: NoiseShape,
): ResponseReading {
  const { response, stimulus } = scenario;
  const expected = { click: 'click-abr', 'tone-burst': 'tone-abr', 'modulated-tone': 'steady-state' } as const;
  const kind = response.kind === 'none' ? expected[stimulus.kind] : response.kind;
  if (kind === 'ecochg') return readCochlear(traceUv, context, noise);
  if (kind === 'steady-state') {
    const { analysisFrom, analysisTo, sampleRateHz } = context;
    const beatHz = heardBeatHz(scenario);
    const whole = Math.round(
      (Math.floor(((analysisTo - analysisFrom) * beatHz) / sampleRateHz) * sampleRateHz) / beatHz,
    );
    return { peaks: [], figures: readBeat(traceUv, analysisFrom, analysisFrom + whole, sampleRateHz, beatHz) };
  }
  const peaks = readPeaks(traceUv, context, noise, peakRules[kind]);
  return { peaks, figures: figuresOf(kind, peaks, context.rectifiedUv) };
}

function figuresOf(kind: keyof typeof peakRules, peaks: ReadPeak[], rectifiedUv: number): Figure[] {
  const between = (from: string, to: string, corrected: number) => {
    const first = peaks.find((peak) => peak.name === from);
    const second = peaks.find((peak) => peak.name === to);
    return first && second ? muscleFigures(first, second, corrected) : [];
  };
  switch (kind) {
    case 'click-abr':
      return brainstemFigures(peaks);
    case 'tone-abr':
      return peaks.map((peak) => figure('V–SN', 'µV', peak.toTroughUv, peak.toTroughSdUv));
    case 'cvemp':
      return between('p13', 'n23', rectifiedUv);
    case 'ovemp':
      return between('n10', 'p15', NaN);
    case 'middle-latency':
      return between('Na', 'Pa', NaN);
    case 'cortical':
      return between('N1', 'P2', NaN);
    default:
      throw new RangeError(`readResponse: no figures for ${kind satisfies never}`);
  }
}
