import { Value } from '@sinclair/typebox/value';
import { describe, expect, it } from 'vitest';
import {
  type Look,
  projectedSeconds,
  stopAt,
  stoppingRule,
  stoppingRules,
} from '../../../src/core/quality/stoppingRules.ts';

const look: Look = {
  sweepCount: 1000,
  seconds: 40,
  sessionS: 120,
  noiseNv: 60,
  snr: 1,
  statistic: 1.5,
  limit: 3.1,
};

describe('stoppingRules', () => {
  it.each(stoppingRules.map((rule) => [rule.id, rule] as const))('%s carries on when nothing is known', (_id, rule) => {
    const parameters = Value.Default(rule.parameters, {}) as Record<string, number>;
    expect(Value.Check(rule.parameters, parameters)).toBe(true);
    const unknown = { ...look, sweepCount: 0, seconds: 0, noiseNv: NaN, snr: NaN, statistic: NaN, limit: NaN };
    expect(rule.decide(unknown, parameters).stop).toBe(false);
  });

  it.each([
    // rule, parameters, change of the look, stop, verdict, why
    ['fixed-count', { sweepCount: 1000 }, {}, true, 'cannot-tell', 'as many as asked'],
    ['fixed-count', { sweepCount: 1001 }, {}, false, 'cannot-tell', 'one short'],
    ['noise-target', { targetNv: 60 }, {}, true, 'cannot-tell', 'at the target'],
    ['noise-target', { targetNv: 59 }, {}, false, 'cannot-tell', 'above it'],
    ['snr-or-floor', { snr: 3, floorNv: 16 }, { snr: 3.2 }, true, 'present', 'clear'],
    ['snr-or-floor', { snr: 3, floorNv: 16 }, { noiseNv: 15 }, true, 'absent', 'quiet and empty'],
    ['snr-or-floor', { snr: 3, floorNv: 16 }, { noiseNv: 15, snr: 4 }, true, 'present', 'clear goes before quiet'],
    ['snr-or-floor', { snr: 3, floorNv: 16 }, {}, false, 'cannot-tell', 'neither'],
    ['detection', {}, { statistic: 3.2 }, true, 'present', 'above the limit'],
    ['detection', {}, { statistic: 9, limit: Infinity }, false, 'cannot-tell', 'a look that may not decide'],
    ['futility', { targetNv: 40, fromShare: 0.1 }, { noiseNv: 70 }, true, 'cannot-tell', '122 s of 120'],
    ['futility', { targetNv: 40, fromShare: 0.1 }, { noiseNv: 69 }, false, 'cannot-tell', '119 s of 120'],
    ['futility', { targetNv: 40, fromShare: 0.5 }, { noiseNv: 900 }, false, 'cannot-tell', 'too early to say'],
  ] as const)('%s %j with %j: %s, %s (%s)', (id, parameters, change, stop, verdict, _why) => {
    const decision = stoppingRule(id).decide({ ...look, ...change }, parameters);
    expect([decision.stop, decision.verdict]).toEqual([stop, verdict]);
    if (stop) expect(decision.reason).toMatch(/^[A-Z0-9].*\.$/);
  });

  it('projects by the square of the noise', () => {
    expect(projectedSeconds(60, 80, 40)).toBe(240);
  });

  it('refuses an unknown rule, naming the choices', () => {
    expect(() => stoppingRule('never')).toThrow(/unknown stopping rule "never"; one of fixed-count, noise-target,/);
  });
});

describe('stopAt', () => {
  const looks = [100, 80, 60, 30, 20].map((noiseNv, k) => ({ ...look, noiseNv, seconds: 24 * (k + 1), snr: k }));

  it('ends at the first look at which a rule says stop; the order of rules settles a tie', () => {
    const clear = { rule: 'snr-or-floor', parameters: { snr: 3, floorNv: 16 } };
    const quiet = { rule: 'noise-target', parameters: { targetNv: 30 } };
    expect(stopAt(looks, [quiet, clear])).toMatchObject({ look: 3, rule: 'noise-target', verdict: 'cannot-tell' });
    expect(stopAt(looks, [clear, quiet])).toMatchObject({ look: 3, rule: 'snr-or-floor', verdict: 'present' });
  });

  it('ends with the session if none does', () => {
    expect(stopAt(looks, [])).toMatchObject({ look: 4, rule: 'session-end', stop: true });
    expect(() => stopAt([], [])).toThrow(/at least 1 look/);
  });
});
