import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const SHORT = { postMs: 20, analysisToMs: 20 };

describe('rules of stimulus and response', () => {
  const refused = [
    [
      { response: { kind: 'tone-abr' }, stimulus: { kind: 'click' } },
      'stimulus.kind: must be tone-burst for response.kind tone-abr, got click',
    ],
    [{ stimulus: { kind: 'tone-burst' } }, 'stimulus.kind: must be click for response.kind click-abr, got tone-burst'],
    [
      { response: { kind: 'cvemp' }, stimulus: { kind: 'modulated-tone' } },
      'stimulus.kind: must be click or tone-burst for response.kind cvemp, got modulated-tone',
    ],
    [
      { stimulus: { transducer: 'bone', levelDbNhl: 45.1 } },
      'stimulus.levelDbNhl: must be at most 45 dB nHL through the bone, got 45.1',
    ],
    [{ stimulus: { restS: 3 } }, 'stimulus.restS: must be 0 without trains (stimulus.trainS), got 3'],
    [{ stimulus: { trainS: 0.03 } }, 'stimulus.trainS: must hold at least 1 stimulus at 27.7/s, got 0.03'],
    [
      { response: { kind: 'steady-state' }, stimulus: { trainS: 10 } },
      'stimulus.trainS: must be 0 for response.kind steady-state: its tone never stops, got 10',
    ],
    [
      { response: { kind: 'ecochg' }, ecochg: { actionPotentialUv: 0.61 } },
      'ecochg.actionPotentialUv: times response.amplitudeScale must be at most 0.6 µV: no ear canal gives more, got 0.61',
    ],
    [
      { response: { kind: 'ecochg', amplitudeScale: 2 } },
      'ecochg.actionPotentialUv: times response.amplitudeScale must be at most 0.6 µV: no ear canal gives more, got 0.9',
    ],
    [
      { response: { trajectory: { startS: 70 } } },
      'response.trajectory.endS: must not be before response.trajectory.startS (70 s), got 60',
    ],
    [
      { response: { kind: 'ovemp' }, montage: { site: 'neck' } },
      'montage.site: must be infra-orbital for response.kind ovemp, got neck',
    ],
    [
      { response: { kind: 'cvemp' }, montage: { site: 'mastoid' } },
      'montage.site: must be neck for response.kind cvemp, got mastoid',
    ],
    [
      { montage: { site: 'infra-orbital' } },
      'montage.site: must be mastoid or earlobe or canal for response.kind click-abr, got infra-orbital',
    ],
    [
      { response: { kind: 'steady-state' }, stimulus: { modulationHz: 20, ratePerS: 45 }, window: SHORT },
      'stimulus.ratePerS: must go a whole number of times into stimulus.modulationHz (20 Hz), or nearly; nearest 20, got 45',
    ],
    [
      { response: { kind: 'steady-state' }, stimulus: { modulationHz: 20, ratePerS: 30 }, window: SHORT },
      'stimulus.ratePerS: must go a whole number of times into stimulus.modulationHz (20 Hz), or nearly; nearest 20, got 30',
    ],
    [
      { response: { kind: 'steady-state' }, stimulus: { modulationHz: 40, ratePerS: 17 }, window: SHORT },
      'stimulus.ratePerS: must go a whole number of times into stimulus.modulationHz (40 Hz), or nearly; nearest 20, got 17',
    ],
  ] as const;
  it.each(refused)('refuses %j', (document, message) => {
    let text = 'taken';
    try {
      resolveScenario(document);
    } catch (error) {
      text = (error as Error).message;
    }
    expect(text.replace(/0\.84\d*$/, '0.84')).toBe(message);
  });

  const taken = [
    [{ stimulus: { transducer: 'bone', levelDbNhl: 45 } }, 'at the limit of the vibrator'],
    [{ stimulus: { trainS: 10, restS: 3 } }, 'trains with rests'],
    [{ response: { kind: 'ecochg' }, ecochg: { actionPotentialUv: 0.6 } }, 'at the limit of the canal'],
    [{ ecochg: { actionPotentialUv: 0.7 } }, 'no electrocochleography: not judged'],
    [{ response: { kind: 'none' }, stimulus: { kind: 'modulated-tone' } }, 'a silent patient hears anything'],
    [{ response: { kind: 'none' }, montage: { site: 'neck' } }, 'silence is recorded anywhere'],
    [{ montage: { site: 'canal' } }, 'a click response from the canal'],
    [
      { response: { kind: 'steady-state' }, stimulus: { modulationHz: 40, ratePerS: 20 }, window: SHORT },
      'the rate that the refusal names',
    ],
    [{ stimulus: { trainS: 0.1, ratePerS: 10 } }, 'one stimulus a train'],
  ] as const;
  it.each(taken)('takes %j', (document, why) => {
    expect(() => resolveScenario(document), why).not.toThrow();
  });
});
