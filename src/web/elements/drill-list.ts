import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { type LineHz, lineFrequenciesHz } from '../../lessons/atLine.ts';
import type { Drill } from '../../lessons/drills/drillSchema.ts';
import type { Bench } from '../model/bench.ts';
import { drillLibrary } from '../model/drillLibrary.ts';
import { browserDrillStore, type DoneDrill } from '../model/drillStore.ts';
import './drill-player.ts';
import { SweepDrillRecord } from './drill-record.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The drills of the lab, what was done so far, and the one that is open. */
@customElement('sweep-drill-list')
export class SweepDrillList extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      ol { margin: 0.5rem 0; padding: 0; list-style: none; }
      li { padding: 0.55rem 0; border-top: 1px solid var(--rule); }
      .top { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0.4rem 1rem; margin-top: 0.5rem; align-items: center; }
      .top input { width: 11rem; max-width: 100%; }
      li p { margin: 0.2rem 0 0.4rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private lineHz: LineHz = 50;
  @state() private open: Drill | null = null;
  @state() private learner = '';
  /** By drill and supply, the latest. */
  @state() private done: ReadonlyMap<string, DoneDrill> = new Map();
  /** Why records are not being kept; null if they are. */
  @state() private unkept: string | null = null;
  private readonly store = browserDrillStore();
  private readonly drills = new Map<LineHz, Drill[]>();

  override connectedCallback(): void {
    super.connectedCallback();
    void this.restore();
  }

  override render() {
    if (this.open) {
      return html`<sweep-drill-player .bench=${this.bench} .drill=${this.open} .learner=${this.learner}
        @drill-done=${this.keep} @drill-print=${this.print} @drill-leave=${this.leave}></sweep-drill-player>`;
    }
    const drills = this.drillsNow;
    const done = this.doneNow;
    return html`
      <p class="soft">Something is wrong with the session. Name the source, do no more than it needs. Five minutes each, and
        what is done to the patient takes the patient's time.</p>
      <div class="top">
        <label>Your name <input type="text" id="drill-learner" maxlength="200" autocomplete="off" .value=${this.learner}
          @change=${this.onName} /></label>
        <label>Supply <select id="drill-line-hz" @change=${this.onLine}>
          ${lineFrequenciesHz.map((hz) => html`<option value=${hz} ?selected=${hz === this.lineHz}>${hz} Hz</option>`)}
        </select></label>
      </div>
      <div class="top">
        <span>${done.length} of ${drills.length} drills done</span>
        <button id="print-drills" ?disabled=${done.length === 0} @click=${this.print}>Print the record</button>
      </div>
      ${this.unkept === null ? nothing : html`<p class="problem" role="alert">This browser does not keep your record (${this.unkept}). Print or save it before you leave.</p>`}
      <ol>${drills.map((drill) => this.line(drill))}</ol>
    `;
  }

  private line(drill: Drill) {
    const { id, title, story } = drill;
    const done = this.done.get(keyOf(id, drill.lineHz));
    return html`<li>
      <h3>${title}</h3>
      <p>${story}</p>
      <button id=${`drill-${id}`} @click=${() => this.begin(drill)} aria-label=${`${done ? 'Again' : 'Begin'}: ${title}`}>${done ? 'Again' : 'Begin'}</button>
      <span class="soft">${done ? `${done.mark.points} of 100` : 'five minutes'}</span>
    </li>`;
  }

  private get drillsNow(): Drill[] {
    let drills = this.drills.get(this.lineHz);
    if (!drills) {
      drills = drillLibrary(this.lineHz);
      this.drills.set(this.lineHz, drills);
    }
    return drills;
  }

  private get doneNow(): DoneDrill[] {
    return this.drillsNow.flatMap(({ id, lineHz }) => this.done.get(keyOf(id, lineHz)) ?? []);
  }

  private begin(drill: Drill): void {
    this.open = drill;
  }

  private async restore(): Promise<void> {
    try {
      const kept = await this.store.load();
      this.done = new Map(kept.map((done) => [keyOf(done.file.drill.id, done.file.drill.lineHz), done]));
    } catch (error) {
      this.unkept = (error as Error).message;
    }
  }

  private readonly keep = async ({ detail: done }: CustomEvent<DoneDrill>): Promise<void> => {
    this.done = new Map([...this.done, [keyOf(done.file.drill.id, done.file.drill.lineHz), done]]);
    try {
      await this.store.save(done);
      this.unkept = null;
    } catch (error) {
      this.unkept = (error as Error).message;
    }
  };

  private readonly print = (): void => {
    const titles = new Map(this.drillsNow.map(({ id, title }) => [id, title]));
    void SweepDrillRecord.print(this.learner, this.doneNow, titles);
  };

  private readonly leave = (): void => {
    const { open } = this;
    this.open = null;
    // Who uses keys or a reader goes on where the drill was begun.
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>(`#drill-${open?.id}`)?.focus());
  };

  private readonly onName = (event: Event): void => {
    this.learner = (event.target as HTMLInputElement).value.trim();
  };

  private readonly onLine = (event: Event): void => {
    this.lineHz = (event.target as HTMLSelectElement).value === '60' ? 60 : 50;
  };
}

function keyOf(id: string, lineHz: LineHz): string {
  return `${id}@${lineHz}`;
}
