import type { OptionKind } from './arguments.ts';

/** Options of `race` that say what a real recording is and how it is cut. */
export const RECORDING_OPTIONS: Record<string, OptionKind> = {
  recording: 'values',
  events: 'values',
  polarity: 'values',
  rarefaction: 'values',
  channel: 'values',
  'window-ms': 'values',
  'band-hz': 'values',
  'analysis-ms': 'values',
  baseline: 'values',
  'sample-rate-hz': 'values',
  unit: 'values',
  implant: 'values',
  'implant-uv': 'values',
};

/** What they do, for the usage of the command. */
export const RECORDING_USAGE = `
on a real recording:
  --recording FILE     delimited text (also .gz), EDF, EDF+, BDF, BDF+ or a WFDB header (.hea); may be repeated:
                       sweeps of all are pooled
  --events SELECT      which instants are stimuli: COLUMN=CODE, annotation=TEXT, status=CODE, or by hand
                       rise=CHANNEL@LEVEL, fall=CHANNEL@LEVEL (µV), every=STEP@FIRST (s); several with commas
  --polarity KIND      of those stimuli: condensation (default), rarefaction or alternating
  --rarefaction SELECT more stimuli, of rarefaction
  --channel NAME       channel, or A-B for a difference; several with commas are run one after the other
  --window-ms A,B      sweep from A to B ms around each event
  --band-hz A,B        zero-phase band-pass
  --analysis-ms A,B    where noise and correlation are measured (default: the window after the event)
  --baseline KIND      none, pre-stimulus or linear (default pre-stimulus where the window begins before the event)
  --sample-rate-hz F   for delimited text without a time column
  --unit U             for delimited text whose columns name no unit (default µV)
  --implant KIND       put a known response into it instead of averaging over its own: truth, noise and gain are told
  --implant-uv X       largest deflection of that response behind the filters, µV (default: as in the model)
  --set averaging...   tunables of the strategies; the rejection limit is 2.5 x the median peak unless set
`;
