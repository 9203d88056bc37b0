import { css, svg, type TemplateResult } from 'lit';
import { laneLetters } from '../model/narration.ts';

const dashes = ['none', '8 5', '1.5 3.5', '8 4 1.5 4', '13 4', '7 3 1.5 3 1.5 3'];
const markers = [
  svg`<circle cx="40" cy="9" r="4.5"/>`,
  svg`<rect x="36" y="5" width="8" height="8"/>`,
  svg`<path d="M40 3.4 L45.2 12.4 L34.8 12.4 Z"/>`,
  svg`<path d="M40 3 L46 9 L40 15 L34 9 Z"/>`,
  svg`<path d="M40 14.6 L45.2 5.6 L34.8 5.6 Z"/>`,
  svg`<path d="M38 4 h4 v3 h3 v4 h-3 v3 h-4 v-3 h-3 v-4 h3 Z"/>`,
];

/** The mark of a lane beside its name: letter, a piece of its line, its end marker. */
export function laneBadge(lane: number): TemplateResult {
  return svg`<svg class="badge" viewBox="0 0 48 18" width="48" height="18" aria-hidden="true" style="--lane: var(--lane-${laneLetters[lane].toLowerCase()})">
    <text x="0" y="14">${laneLetters[lane]}</text>
    <line x1="15" y1="9" x2="40" y2="9" stroke-dasharray=${dashes[lane]} />
    ${markers[lane]}
  </svg>` as TemplateResult;
}

export const laneBadgeStyles = css`
  .badge { flex: none; vertical-align: middle; }
  .badge text { font: 700 15px/1 inherit; font-size: 15px; font-weight: 700; fill: var(--lane); }
  .badge line { stroke: var(--lane); stroke-width: 2.2; }
  .badge circle, .badge rect, .badge path { fill: var(--lane); }
`;
