import type { Scenario } from './schema.ts';

const BANDS = ['swallow', 'neck', 'brow', 'movement', 'sucking', 'shiver'] as const;

/**
 * Checks that the disturbances can be drawn: spectra below half the sample rate, spans that are not upside down.
 *
 * @param refuse - told path, rule and value of what cannot be
 */
export function checkDisturbances(
  scenario: Scenario,
  refuse: (path: string, rule: string, value: number | string) => void,
): void {
  const nyquistHz = scenario.converter.sampleRateHz / 2;
  for (const name of BANDS) {
    const { lowHz, highHz } = scenario[name];
    if (!(lowHz < highHz)) refuse(`${name}.lowHz`, `must be below ${name}.highHz (${highHz} Hz)`, lowHz);
    if (!(highHz < nyquistHz)) {
      refuse(`${name}.highHz`, `must be below half of converter.sampleRateHz (${nyquistHz} Hz)`, highHz);
    }
  }
  const { neck, diathermy, eyes, heart } = scenario;
  if (!(neck.shortestHoldS <= neck.longestHoldS)) {
    refuse('neck.shortestHoldS', `must be at most neck.longestHoldS (${neck.longestHoldS} s)`, neck.shortestHoldS);
  }
  if (!(diathermy.shortestS <= diathermy.longestS)) {
    refuse('diathermy.shortestS', `must be at most diathermy.longestS (${diathermy.longestS} s)`, diathermy.shortestS);
  }
  if (!(eyes.blinksPerS * eyes.blinkS < 0.9)) {
    refuse(
      'eyes.blinksPerS',
      `must leave the eye open a tenth of the time (eyes.blinkS ${eyes.blinkS} s)`,
      eyes.blinksPerS,
    );
  }
  if (!(heart.beatSdS < heart.beatS / 2)) {
    refuse('heart.beatSdS', `must be below half of heart.beatS (${heart.beatS} s)`, heart.beatSdS);
  }
}
