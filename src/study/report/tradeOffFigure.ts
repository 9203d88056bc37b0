import type { TradeOff } from '../tradeOff.ts';
import { axes, plotPlaces, shortened } from './curveFigure.ts';
import { axisScale } from './scale.ts';
import { drawing, element, figureInk, label, seriesLook } from './svg.ts';

const WIDTH = 820;
const MOST_NAMES = 14;

/** Draws time to target against bias; the disc grows with the catastrophic rate, the ring marks the front. */
export function tradeOffFigure(points: readonly TradeOff[], nameOf: (setting: number) => string): string {
  const reach = ({ ellipse }: TradeOff) => [
    Math.sqrt(square(ellipse.major * ellipse.cosine) + square(ellipse.minor * ellipse.sine)),
    Math.sqrt(square(ellipse.major * ellipse.sine) + square(ellipse.minor * ellipse.cosine)),
  ];
  const xs = points.flatMap((point) => [
    point.ellipse.x - reach(point)[0],
    point.ellipse.x + reach(point)[0],
    point.secondsToTarget,
  ]);
  const ys = points.flatMap((point) => [0, point.ellipse.y + reach(point)[1], point.bias]);
  const x = axisScale(xs, [plotPlaces.left, plotPlaces.right], false);
  const y = axisScale(ys, [plotPlaces.bottom, plotPlaces.top], false);
  const parts = axes(x, y, 'Mean time to target, s (never = whole session)', '|mean gain − 1|');
  const named = [...points].sort((a, b) => b.frontShare - a.frontShare).slice(0, MOST_NAMES);
  for (const [k, point] of points.entries()) {
    const { colour } = seriesLook(k);
    parts.push(element('path', { d: outline(point, x.at, y.at), fill: 'none', stroke: colour, opacity: 0.45 }));
    const centre = { cx: x.at(point.secondsToTarget), cy: y.at(point.bias) };
    parts.push(
      element('circle', { ...centre, r: 3 + 9 * Math.sqrt(point.catastropheRate), fill: colour, opacity: 0.75 }),
    );
    if (point.onFront)
      parts.push(element('circle', { ...centre, r: 14, fill: 'none', stroke: figureInk.line, 'stroke-width': 1.4 }));
    const place = named.indexOf(point);
    if (place < 0) continue;
    const at = plotPlaces.top + 10 + 20 * place;
    parts.push(element('circle', { cx: plotPlaces.right + 24, cy: at - 4, r: 5, fill: colour }));
    const letter = place < 26 ? String.fromCharCode(65 + place) : '';
    parts.push(label(plotPlaces.right + 36, at, `${letter} ${shortened(nameOf(point.setting), 30)}`));
    parts.push(label(centre.cx + 8, centre.cy - 7, letter));
  }
  return drawing(WIDTH, 350, 'Time to target against bias, with 95 % ellipses', parts);
}

function square(value: number): number {
  return value * value;
}

/** The ellipse as a polygon, since the axes have different scales. 48 corners look round. */
function outline({ ellipse }: TradeOff, xAt: (value: number) => number, yAt: (value: number) => number): string {
  const { x, y, major, minor, cosine, sine } = ellipse;
  const corners = Array.from({ length: 48 }, (_, k) => {
    const angle = (2 * Math.PI * k) / 48;
    const [a, b] = [major * Math.cos(angle), minor * Math.sin(angle)];
    return `${xAt(x + a * cosine - b * sine).toFixed(1)} ${yAt(y + a * sine + b * cosine).toFixed(1)}`;
  });
  return `M${corners.join('L')}Z`;
}
