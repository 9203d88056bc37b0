import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { DrillMark } from '../../lessons/drills/markDrill.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The mark of a drill: every point with the number that it came from. */
@customElement('sweep-drill-mark')
export class SweepDrillMark extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .total { font: italic 400 2.2rem/1.1 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      ol { margin: 0.4rem 0 0; padding: 0; list-style: none; }
      li { padding: 0.45rem 0; border-bottom: 1px solid var(--rule); overflow-wrap: anywhere; }
      .line { display: flex; justify-content: space-between; gap: 1rem; }
      .points { white-space: nowrap; font-weight: 600; font-variant-numeric: tabular-nums; }
      dl { display: grid; grid-template-columns: auto 1fr; gap: 0.1rem 0.7rem; margin: 0.25rem 0 0; font-size: 0.93rem; }
      dt { color: var(--ink-soft); }
      dd { margin: 0; }
    `,
  ];

  @property({ attribute: false }) mark!: DrillMark;

  override render() {
    const { points, lines } = this.mark;
    return html`
      <p class="total" id="drill-total">${points} of 100</p>
      <ol>
        ${lines.map(
          (line) => html`<li>
            <div class="line"><span>${line.text}</span><span class="points">${line.points} of ${line.outOf}</span></div>
            <dl>
              <dt>you</dt><dd>${line.answer}</dd>
              <dt>model</dt><dd>${line.finding}</dd>
              <dt>rule</dt><dd>${line.rule}</dd>
            </dl>
          </li>`,
        )}
      </ol>
    `;
  }
}
