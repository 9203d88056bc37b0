import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { drillSource } from '../../lessons/drills/drillSources.ts';
import type { DoneDrill } from '../model/drillStore.ts';
import { STANDING_LINE } from '../model/provenance.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The page that is printed of drills that were done: one line each, with the numbers behind its mark. */
@customElement('sweep-drill-record')
export class SweepDrillRecord extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { color: var(--ink); font-size: 9.2pt; line-height: 1.3; }
      header { display: flex; justify-content: space-between; align-items: baseline; gap: 1rem; border-bottom: 1.2pt solid var(--ink); padding-bottom: 3pt; }
      h1 { margin: 0; font: italic 400 18pt/1 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      h2 { font-size: 11.5pt; margin: 9pt 0 2pt; }
      table { font-size: 8.8pt; }
      tr { break-inside: avoid; }
      td, thead th:not(:first-child) { text-align: left; }
      .signature { display: flex; gap: 3rem; margin-top: 26pt; }
      .signature span { flex: 1; border-top: 0.5pt solid var(--ink); padding-top: 2pt; }
      footer { margin-top: 10pt; border-top: 0.5pt solid var(--ink); padding-top: 3pt; font-size: 8pt; color: var(--ink-soft); }
    `,
  ];

  @property({ attribute: false }) done: readonly DoneDrill[] = [];
  /** Titles of the drills by id. */
  @property({ attribute: false }) titles: ReadonlyMap<string, string> = new Map();
  @property({ attribute: false }) learner = '';

  override render() {
    const { done } = this;
    const first = done.filter(({ mark }) => mark.lines[0].points === mark.lines[0].outOf).length;
    const mended = done.filter(({ mark }) => mark.mended).length;
    return html`
      <header><h1>Sweepwise</h1><span>record of drills</span></header>
      <h2>${this.learner || 'No name given'}</h2>
      <p>${done.length} ${done.length === 1 ? 'drill' : 'drills'} of five minutes: the source named at the first guess in ${first}, the trouble mended in ${mended}.</p>
      <table>
        <thead><tr><th>Drill</th><th>Supply</th><th>Done</th><th>Blamed</th><th>It was</th><th>Error, nV</th><th>Remedies</th><th>Time</th><th>Points</th></tr></thead>
        <tbody>${done.map(({ file, mark, doneAtMs }) => {
          const { key, errorNv, lines, spentS, points } = mark;
          const nv = (value: number) => value.toFixed(0);
          return html`<tr>
            <th>${this.titles.get(file.drill.id) ?? file.drill.id}</th>
            <td>${file.drill.lineHz} Hz</td>
            <td>${new Date(doneAtMs).toISOString().slice(0, 16).replace('T', ' ')} UTC</td>
            <td>${lines[0].answer}</td>
            <td>${drillSource(key.source).label}</td>
            <td>${nv(key.troubledNv)} → ${nv(errorNv)}; goal ${nv(key.goalNv)}</td>
            <td>${lines[1].answer}; ${file.events.filter(({ kind }) => kind === 'remedy').length} taken, least ${key.least?.ids.length ?? 0}</td>
            <td>${spentS} s</td>
            <td>${points}</td>
          </tr>`;
        })}</tbody>
      </table>
      ${done.length === 0 ? nothing : html`<div class="signature"><span>Learner</span><span>Instructor</span><span>Date</span></div>`}
      <footer>
        <p>${STANDING_LINE}</p>
        <p>Every mark can be computed again from the saved record: sweepwise drill verify. It is no certificate of skill with patients.</p>
      </footer>
    `;
  }

  /** Puts the record on the page, prints it, and takes it off again. */
  static async print(learner: string, done: readonly DoneDrill[], titles: ReadonlyMap<string, string>): Promise<void> {
    const record = new SweepDrillRecord();
    Object.assign(record, { learner, done, titles });
    document.body.append(record);
    try {
      await record.updateComplete;
      window.print();
    } finally {
      record.remove();
    }
  }
}
