import type { Interval } from '../statistics/bootstrap.ts';
import { shortened } from './curveFigure.ts';
import { axisScale, numberText } from './scale.ts';
import { drawing, element, figureInk, label } from './svg.ts';

/** One line of the figure. */
export interface IntervalRow {
  name: string;
  effect: Interval;
  note: string;
}

const WIDTH = 820;
const LEFT = 280;
const RIGHT = 620;
const ROW = 22;

/**
 * Draws effects with their 95 % intervals, one below the other, about the line of no difference.
 *
 * @param isBar - bars from the line of no difference, as in a tornado; else points
 */
export function intervalFigure(
  title: string,
  axisName: string,
  rows: readonly IntervalRow[],
  isRatio: boolean,
  isBar: boolean,
): string {
  const none = isRatio ? 1 : 0;
  const values = [none, ...rows.flatMap(({ effect }) => [effect.value, effect.low, effect.high])];
  const x = axisScale(values, [LEFT, RIGHT], isRatio);
  const bottom = 12 + ROW * rows.length;
  const parts = x.ticks.flatMap((tick) => [
    element('path', { d: `M${x.at(tick).toFixed(2)} 8V${bottom}`, stroke: figureInk.grid, 'stroke-width': 1 }),
    label(x.at(tick), bottom + 16, numberText(tick), 'middle'),
  ]);
  parts.push(
    element('path', { d: `M${x.at(none).toFixed(2)} 8V${bottom}`, stroke: figureInk.line, 'stroke-width': 1.2 }),
  );
  for (const [k, { name, effect, note }] of rows.entries()) {
    const y = 12 + ROW * (k + 0.5);
    parts.push(label(LEFT - 10, y + 4, shortened(name, 38), 'end'), label(RIGHT + 12, y + 4, note));
    if (!Number.isFinite(effect.value) || (isRatio && !(effect.value > 0))) continue;
    if (isBar) {
      const [from, to] = [x.at(none), x.at(effect.value)].sort((a, b) => a - b);
      parts.push(
        element('rect', { x: from, y: y - 7, width: Math.max(0.5, to - from), height: 14, fill: figureInk.bar }),
      );
    }
    if (Number.isFinite(effect.low) && Number.isFinite(effect.high) && (!isRatio || effect.low > 0)) {
      const d = `M${x.at(effect.low).toFixed(2)} ${y}H${x.at(effect.high).toFixed(2)}`;
      parts.push(element('path', { d, stroke: figureInk.effect, 'stroke-width': 2 }));
    }
    parts.push(element('circle', { cx: x.at(effect.value), cy: y, r: 4, fill: figureInk.effect }));
  }
  parts.push(label((LEFT + RIGHT) / 2, bottom + 36, axisName, 'middle'));
  return drawing(WIDTH, bottom + 46, title, parts);
}
