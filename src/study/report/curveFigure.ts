import type { CurveSet } from '../curves.ts';
import { axisScale, numberText } from './scale.ts';
import { drawing, element, figureInk, label, seriesLook, seriesMark } from './svg.ts';

const WIDTH = 820;
const PLOT = { left: 62, right: 470, top: 14, bottom: 300 };

/** Draws a measure against a number, one line each, with the 95 % interval of every point. */
export function curveFigure({ axis, measure, title, curves }: CurveSet, unit: string): string {
  const xs = curves.flatMap(({ points }) => points.map(({ x }) => x));
  const ys = curves.flatMap(({ points }) => points.flatMap(({ y }) => [y.value, y.low, y.high]));
  const rising = [...new Set(xs)].sort((a, b) => a - b);
  const isLogX = rising[0] > 0 && rising[rising.length - 1] / rising[0] >= 8;
  const x = axisScale(xs, [PLOT.left, PLOT.right], isLogX);
  const isLogY = measure.scale === 'log';
  const y = axisScale(ys, [PLOT.bottom, PLOT.top], isLogY);
  const height = Math.max(350, PLOT.top + 20 * curves.length + 20);
  const parts = [
    ...axes(x, y, `${axis}${unit ? `, ${unit}` : ''}`, `${measure.label}${measure.unit ? `, ${measure.unit}` : ''}`),
  ];
  for (const [k, curve] of curves.entries()) {
    const { colour, dash } = seriesLook(k);
    const path = curve.points.map(
      ({ x: at, y: { value } }, j) => `${j === 0 ? 'M' : 'L'}${x.at(at).toFixed(2)} ${y.at(value).toFixed(2)}`,
    );
    const stroke = { stroke: colour, 'stroke-width': 1.6, fill: 'none', ...(dash ? { 'stroke-dasharray': dash } : {}) };
    for (const { x: at, y: interval } of curve.points) {
      if (!Number.isFinite(interval.low) || (isLogY && !(interval.low > 0))) continue;
      const d = `M${x.at(at).toFixed(2)} ${y.at(interval.low).toFixed(2)}V${y.at(interval.high).toFixed(2)}`;
      parts.push(element('path', { d, stroke: colour, 'stroke-width': 1, opacity: 0.6 }));
    }
    parts.push(element('path', { d: path.join(''), ...stroke }));
    for (const { x: at, y: interval } of curve.points) parts.push(seriesMark(k, x.at(at), y.at(interval.value)));
    const at = PLOT.top + 10 + 20 * k;
    parts.push(element('path', { d: `M${PLOT.right + 16} ${at - 4}h26`, ...stroke }));
    parts.push(seriesMark(k, PLOT.right + 29, at - 4), label(PLOT.right + 48, at, shortened(curve.label, 34)));
  }
  return drawing(WIDTH, height, `${measure.label} against ${axis}, ${title}`, parts);
}

type Scale = ReturnType<typeof axisScale>;

/** Grid, ticks and names of both axes. */
export function axes(x: Scale, y: Scale, xName: string, yName: string): string[] {
  const grid = { stroke: figureInk.grid, 'stroke-width': 1 };
  const middle = (PLOT.top + PLOT.bottom) / 2;
  return [
    ...x.ticks.flatMap((tick) => [
      element('path', { d: `M${x.at(tick).toFixed(2)} ${PLOT.top}V${PLOT.bottom}`, ...grid }),
      label(x.at(tick), PLOT.bottom + 16, numberText(tick), 'middle'),
    ]),
    ...y.ticks.flatMap((tick) => [
      element('path', { d: `M${PLOT.left} ${y.at(tick).toFixed(2)}H${PLOT.right}`, ...grid }),
      label(PLOT.left - 6, y.at(tick) + 4, numberText(tick), 'end'),
    ]),
    label((PLOT.left + PLOT.right) / 2, PLOT.bottom + 36, xName, 'middle'),
    label(-middle, 14, yName, 'middle', { transform: 'rotate(-90)' }),
  ];
}

export const plotPlaces = PLOT;

/** Cuts a long name. */
export function shortened(text: string, most: number): string {
  return text.length <= most ? text : `${text.slice(0, most - 1)}…`;
}
