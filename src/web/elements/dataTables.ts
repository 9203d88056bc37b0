import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { countText } from '../model/numberText.ts';
import { cellText, type PictureTable, readableRows } from '../model/pictureTables.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The pictures beside it as tables. Nothing is worked out before it is opened; what is open follows its host. */
@customElement('sweep-data-tables')
export class SweepDataTables extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { font-size: 0.86rem; margin-top: 0.2rem; }
      details details { margin: 0.15rem 0 0.15rem 0.9rem; }
      .scroll { max-height: var(--table-height, 22rem); overflow-y: auto; }
      caption { text-align: left; color: var(--ink-soft); padding: 0.1rem 0.35rem; }
      th, td { white-space: nowrap; }
      p { color: var(--ink-soft); }
    `,
  ];

  /** Gives the tables as they are now. */
  @property({ attribute: false }) tables: () => readonly PictureTable[] = () => [];
  @property() label = 'Pictures as tables';
  @state() private isOpen = false;
  @state() private opened: readonly string[] = [];

  override render() {
    return html`<details @toggle=${(event: Event) => {
      this.isOpen = isOpen(event);
    }}><summary>${this.label}</summary>${this.isOpen ? this.list() : nothing}</details>`;
  }

  private list() {
    const tables = this.tables();
    if (tables.length === 0) return html`<p>Nothing to tell yet.</p>`;
    return tables.map(
      (table) =>
        html`<details data-table=${table.id} @toggle=${(event: Event) => this.toggle(table.id, event)}><summary>${table.label}</summary>${
          this.opened.includes(table.id) ? this.table(table) : nothing
        }</details>`,
    );
  }

  private table({ label, rows }: PictureTable) {
    const [header, ...all] = rows();
    if (!header || all.length === 0) return html`<p>Nothing to tell yet.</p>`;
    const shown = readableRows(all);
    const thinned =
      shown.length < all.length
        ? `: ${shown.length} of ${countText(all.length)} rows, evenly spaced; the CSV has all`
        : '';
    return html`<div class="scroll" tabindex="0" role="group" aria-label=${label}><table>
      <caption>${label}${thinned}</caption>
      <thead><tr>${header.map((name) => html`<th scope="col">${name}</th>`)}</tr></thead>
      <tbody>${shown.map(
        ([first, ...rest]) =>
          html`<tr><th scope="row">${cellText(first)}</th>${rest.map((cell) => html`<td>${cellText(cell)}</td>`)}</tr>`,
      )}</tbody></table></div>`;
  }

  private toggle(id: string, event: Event): void {
    const others = this.opened.filter((other) => other !== id);
    this.opened = isOpen(event) ? [...others, id] : others;
  }
}

function isOpen({ currentTarget }: Event): boolean {
  return (currentTarget as HTMLDetailsElement).open;
}
