import { nothing, svg } from 'lit';
import { tickText } from '../model/numberText.ts';
import { linearTicks } from '../stage/scale.ts';
import type { TracePanel } from '../stage/tracePanel.ts';

/** Numbers along a panel of traces, in nV where it is small: voltage at the left, time below if asked for. */
export function panelLabels({ timeMs, voltageUv }: TracePanel, withTime: boolean) {
  const nano = voltageUv.to < 1;
  const left = timeMs(timeMs.from);
  const bottom = voltageUv(voltageUv.from);
  const label = (uv: number) => (uv === 0 ? '0' : tickText(nano ? 1000 * uv : uv));
  return svg`
    ${[voltageUv.to, 0, voltageUv.from].map(
      (uv) => svg`<text x=${left - 4} y=${Math.max(10, voltageUv(uv) + 3.5)} text-anchor="end">${label(uv)}</text>`,
    )}
    <text x=${left + 4} y=${voltageUv(voltageUv.to) + 9}>${nano ? 'nV' : 'µV'}</text>
    ${
      withTime
        ? linearTicks(timeMs.from, timeMs.to, 8).map(
            (ms) =>
              svg`<text x=${timeMs(ms)} y=${bottom + 13} text-anchor="middle">${tickText(ms)}${ms === 0 ? ' ms' : ''}</text>`,
          )
        : nothing
    }`;
}
