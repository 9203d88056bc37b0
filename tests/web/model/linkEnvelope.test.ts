import { describe, expect, it } from 'vitest';
import { unwrapLink, wrapLink } from '../../../src/web/model/linkEnvelope.ts';

const long = `scenario=mine&seed=7&${Array.from({ length: 60 }, (_, k) => `set=events.${k}.note=${'€ä '.repeat(3)}`).join('&')}`;

describe('wrapLink', () => {
  it('leaves a short link readable and packs a long one to a fraction', async () => {
    expect(await wrapLink('scenario=quiet-sleeper&seed=7')).toMatch(
      /^v=1&scenario=quiet-sleeper&seed=7&check=[0-9a-f]{8}$/,
    );
    const packed = await wrapLink(long);
    expect(packed).toMatch(/^v=1&packed=[\w-]+&check=[0-9a-f]{8}$/);
    expect(packed.length).toBeLessThan(long.length / 4);
  });

  it('checks with CRC-32: its published check value', async () => {
    // ISO 3309 / common practice: CRC-32 of the nine letters "123456789" is cbf43926.
    expect(await wrapLink('123456789')).toBe('v=1&123456789&check=cbf43926');
  });

  it.each(['', 'seed=1', long])('comes back as it was (%#)', async (text) => {
    expect(await unwrapLink(`#${await wrapLink(text)}`)).toBe(text);
  });
});

describe('unwrapLink', () => {
  it('takes a link written by hand as it is', async () => {
    expect(await unwrapLink('#scenario=faint-click&seed=blue')).toBe('scenario=faint-click&seed=blue');
    expect(await unwrapLink('')).toBe('');
  });

  it('refuses every link with one letter changed, and every cut one, packed or not', async () => {
    for (const text of ['scenario=quiet-sleeper&seed=7', long]) {
      const whole = await wrapLink(text);
      for (let at = 4; at < whole.length; at += text === long ? 13 : 1) {
        const letter = whole[at] === 'x' ? 'y' : 'x';
        await expect(unwrapLink(whole.slice(0, at) + letter + whole.slice(at + 1)), `letter ${at}`).rejects.toThrow(
          'damaged or cut',
        );
        await expect(unwrapLink(whole.slice(0, at)), `cut at ${at}`).rejects.toThrow('damaged or cut');
      }
    }
  });

  it('names a version that it does not know', async () => {
    await expect(unwrapLink('#v=7&packed=abc&check=00000000')).rejects.toThrow('its version must be 1, got 7');
  });
});
