import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { shortNumber } from '../../lessons/figureParts.ts';
import { expectedInWords, type LessonMark } from '../../lessons/mark.ts';
import type { Part } from '../../lessons/schema.ts';
import { sharedStyles } from './sharedStyles.ts';

const partNames: Record<Part, string> = {
  predictions: 'Predictions',
  outcome: 'Outcome',
  measurements: 'Measurements',
  explanations: 'Explanations',
};

/** The mark of an attempt: every point with the number that it came from, and how each strategy did. */
@customElement('sweep-lesson-mark')
export class SweepLessonMark extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .total { font: italic 400 2.2rem/1.1 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      h3 { margin: 1rem 0 0.3rem; display: flex; justify-content: space-between; gap: 1rem; }
      ol { margin: 0; padding: 0; list-style: none; }
      li { padding: 0.45rem 0; border-bottom: 1px solid var(--rule); overflow-wrap: anywhere; }
      .line { display: flex; justify-content: space-between; gap: 1rem; }
      .points { white-space: nowrap; font-weight: 600; font-variant-numeric: tabular-nums; }
      dl { display: grid; grid-template-columns: auto 1fr; gap: 0.1rem 0.7rem; margin: 0.25rem 0 0; font-size: 0.93rem; }
      dt { color: var(--ink-soft); }
      dd { margin: 0; }
      .hollow { font-style: italic; color: var(--ink-soft); }
    `,
  ];

  @property({ attribute: false }) mark!: LessonMark;

  override render() {
    const { points, parts, report, hints } = this.mark;
    return html`
      <p class="total" id="total">${points} of 100</p>
      ${hints.cost > 0 ? html`<p class="soft">${shortPoints(hints.cost)} taken for ${hints.count} opened hints.</p>` : nothing}
      ${parts.map(
        ({ part, points, outOf, marks }) => html`
          <h3><span>${partNames[part]}</span><span>${shortPoints(points)} of ${outOf}</span></h3>
          <ol>
            ${marks.map(
              (line) => html`<li>
                <div class="line"><span>${line.text}</span><span class="points">${shortPoints(line.points)} of ${line.outOf}</span></div>
                <dl>
                  <dt>you</dt><dd>${line.answer}</dd>
                  <dt>model</dt><dd>${line.finding}</dd>
                  <dt>rule</dt><dd>${line.rule}</dd>
                </dl>
              </li>`,
            )}
          </ol>`,
      )}
      <h3><span>Seconds to ${report.targetNv} nV</span></h3>
      <p class="soft">
        ${report.title}, ${shortNumber(report.seconds)} s, over ${report.patientCount} hidden patients, with 95 % intervals.
        A gain outside 0.95 to 1.05 disqualifies: the strategy has changed the response.
      </p>
      <div class="scroll" tabindex="0" role="region" aria-label="Results of every strategy">
        <table>
          <thead>
            <tr><th scope="col">strategy</th><th scope="col">seconds</th><th scope="col">noise at the end, nV</th><th scope="col">own claim, nV</th><th scope="col">gain</th><th scope="col">sweeps used</th></tr>
          </thead>
          <tbody>
            ${report.strategies.map(
              (row) => html`<tr class=${row.hollow ? 'hollow' : ''}>
                <th scope="row">${row.label}${row.hollow ? ' (disqualified)' : ''}</th>
                <td>${row.secondsToTarget === null ? 'never' : expectedInWords(row.secondsToTarget)}</td>
                <td>${expectedInWords(row.residualNoiseNv)}</td>
                <td>${shortNumber(row.ownNoiseNv)}</td>
                <td>${expectedInWords(row.amplitudeGain)}</td>
                <td>${shortNumber(row.acceptedPercent)} %</td>
              </tr>`,
            )}
          </tbody>
        </table>
      </div>
    `;
  }
}

function shortPoints(points: number): string {
  return String(Math.round(10 * points) / 10);
}
