import { css, html, type TemplateResult } from 'lit';
import { honestNumber } from '../model/honestNumber.ts';

/** A number whose digits beyond its uncertainty are pale, and the uncertainty beside it where it says something. */
export function honestText(value: number, sd: number, decimals: number, unit: string): TemplateResult {
  const { firm, faint } = honestNumber(value, sd, decimals);
  const spread = sd > 0 ? html` <span class="soft">±${sd.toFixed(decimals)}</span>` : '';
  return html`<span class="honest">${firm}<span class="faint">${faint}</span></span>${spread} <span class="soft">${unit}</span>`;
}

/** The same for a voltage in µV, in the unit that reads best. */
export function honestVoltage(uv: number, sdUv: number): TemplateResult {
  if (!(Math.abs(uv) >= 1)) return honestText(1000 * uv, 1000 * sdUv, 0, 'nV');
  return honestText(uv, sdUv, Math.abs(uv) >= 20 ? 1 : 2, 'µV');
}

export const honestStyles = css`
  .honest { font-weight: 600; white-space: nowrap; }
  .faint { color: var(--ink-soft); font-weight: 400; font-size: 0.88em; }
`;
