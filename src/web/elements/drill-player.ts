import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { version } from '../../../package.json';
import { drillFile } from '../../lessons/drills/drillFile.ts';
import { drillRemedy } from '../../lessons/drills/drillRemedies.ts';
import type { Drill } from '../../lessons/drills/drillSchema.ts';
import { drillSource } from '../../lessons/drills/drillSources.ts';
import type { Bench } from '../model/bench.ts';
import { DrillAttempt } from '../model/drillAttempt.ts';
import type { DoneDrill } from '../model/drillStore.ts';
import './drill-mark.ts';
import { saveFile } from './saveFile.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

/** One drill, from its story to its mark. Tells by `drill-done` (detail: the record), `drill-print` and `drill-leave`. */
@customElement('sweep-drill-player')
export class SweepDrillPlayer extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .top { display: flex; justify-content: space-between; gap: 1rem; align-items: baseline; }
      .clock { display: flex; justify-content: space-between; gap: 1rem; margin: 0.5rem 0; padding: 0.35rem 0; border-top: 1px solid var(--rule); border-bottom: 1px solid var(--rule); }
      .left { font-weight: 600; font-variant-numeric: tabular-nums; }
      fieldset { border: none; margin: 0.6rem 0 0; padding: 0; min-width: 0; }
      legend { padding: 0; font: italic 400 1.07rem/1.2 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      .choice { display: flex; gap: 0.45rem; align-items: baseline; padding: 0.15rem 0; }
      .remedies { display: grid; gap: 0.3rem; margin: 0.35rem 0; }
      .remedies button { text-align: left; display: flex; justify-content: space-between; gap: 0.8rem; }
      .go { display: flex; flex-wrap: wrap; gap: 0.5rem; align-items: center; margin: 0.6rem 0; }
      ul { padding-left: 1.2rem; margin: 0.4rem 0; }
      h3 { margin-top: 0.8rem; }
      progress { width: 100%; accent-color: var(--ink); }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @property({ attribute: false }) drill!: Drill;
  @property({ attribute: false }) learner = '';
  @state() private problem: string | null = null;
  @state() private chosen: string | null = null;
  @state() private done: DoneDrill | null = null;
  private attempt!: DrillAttempt;
  private readonly marking = new TaskController(this, 'mark-drill', () => this.marked());
  private ticking: ReturnType<typeof setInterval> | undefined;

  override connectedCallback(): void {
    super.connectedCallback();
    this.begin();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearInterval(this.ticking);
    this.attempt.leave();
  }

  override firstUpdated(): void {
    this.renderRoot.querySelector<HTMLElement>('#drill-title')?.focus();
  }

  override render() {
    const { drill, attempt } = this;
    return html`
      <div class="top">
        <h2 id="drill-title" tabindex="-1">${drill.title}</h2>
        <button @click=${() => this.dispatchEvent(new CustomEvent('drill-leave'))}>All drills</button>
      </div>
      <p>${drill.story}</p>
      ${this.problem === null ? nothing : html`<p class="problem" role="alert" id="drill-problem">${this.problem}</p>`}
      ${this.done ? this.marks(this.done) : attempt.state.finished ? this.beingMarked() : this.working()}
    `;
  }

  private working() {
    const { drill, attempt } = this;
    const { guesses, remedies, taken } = attempt.state;
    const left = Math.ceil(attempt.secondsLeft);
    const over = left === 0;
    const label = (id: string) => drillRemedy(id).label;
    return html`
      <div class="clock">
        <span role="timer" aria-label="Time left"><span class="left">${Math.floor(left / 60)}:${String(left % 60).padStart(2, '0')}</span> left</span>
        <span class="soft">${taken.length} ${taken.length === 1 ? 'remedy' : 'remedies'} taken</span>
      </div>
      <p class="soft">Look at the sweeps, their spread, the averages and what each lane claims. The average of lane A
        must come right.</p>
      ${guesses.length < 2 ? this.sourceChoice(guesses) : nothing}
      ${guesses.length > 0 ? html`<p id="guesses">You blame: ${guesses.map((id) => drillSource(id).label).join('; then: ')}.</p>` : nothing}
      <fieldset ?disabled=${guesses.length === 0 || over}>
        <legend>What do you do?</legend>
        <div class="remedies">
          ${byLabel(drill.remedies, label).map((id) => {
            const { effect, costS } = drillRemedy(id);
            return html`<button id=${`remedy-${id}`} title=${effect} ?disabled=${remedies.includes(id)} @click=${() => this.tell(attempt.take(id))}>
              <span>${label(id)}</span><span class="soft">${remedies.includes(id) ? 'done' : `${costS} s`}</span></button>`;
          })}
        </div>
      </fieldset>
      <p role="status">${
        guesses.length === 0
          ? 'Name a source first; then something can be done.'
          : remedies.length === 0
            ? 'Nothing done yet.'
            : `Done: ${remedies.map(label).join(', ')}. The same patient is recorded again, from second 0.`
      }</p>
      <div class="go">
        <button id="drill-undo" ?disabled=${remedies.length === 0 || over} @click=${() => this.tell(attempt.undo())}>Take the last one back</button>
        <button class="primary" id="drill-finish" @click=${this.finish}>Hand in</button>
      </div>
    `;
  }

  private sourceChoice(guesses: readonly string[]) {
    const { drill } = this;
    return html`<fieldset id="sources">
      <legend>${guesses.length === 0 ? 'What is to blame?' : 'A second guess, for half the points'}</legend>
      ${byLabel(drill.sources, (id) => drillSource(id).label)
        .filter((id) => !guesses.includes(id))
        .map(
          (
            id,
          ) => html`<label class="choice"><input type="radio" name="source" value=${id} .checked=${this.chosen === id}
            @change=${() => this.choose(id)} /> <span>${drillSource(id).label}</span></label>`,
        )}
      <div class="go"><button id="name-source" ?disabled=${this.chosen === null} @click=${this.nameSource}>${guesses.length === 0 ? 'Name it' : 'Name this too'}</button></div>
    </fieldset>`;
  }

  private beingMarked() {
    return html`<div role="status">
      <p>Running hidden patients: your remedies, every source on offer, and less than you did.</p>
      ${this.marking.progress('Marking')}
      ${this.marking.state.kind === 'running' ? nothing : html`<button id="drill-mark-it" @click=${this.mark}>Mark it</button>`}
    </div>`;
  }

  private marks({ mark }: DoneDrill) {
    const { sign } = drillSource(mark.key.source);
    return html`
      <sweep-drill-mark .mark=${mark}></sweep-drill-mark>
      <h3>What gives it away</h3>
      <ul><li>${upperFirst(sign)}.</li>${this.drill.debrief.map((text) => html`<li>${text}</li>`)}</ul>
      <p class="soft">Settings, leads and truth are open now: look at what it was.</p>
      <div class="go">
        <button class="primary" id="drill-print" @click=${() => this.dispatchEvent(new CustomEvent('drill-print'))}>Print the record</button>
        <button id="drill-save" @click=${this.save}>Save the record</button>
        <button id="drill-again" @click=${this.begin}>Try again</button>
      </div>
    `;
  }

  private readonly begin = (): void => {
    clearInterval(this.ticking);
    this.marking.clear();
    this.done = null;
    this.problem = null;
    this.chosen = null;
    this.attempt = new DrillAttempt(this.drill, this.bench);
    this.ticking = setInterval(() => this.tick(), 1000);
    this.requestUpdate();
  };

  private tick(): void {
    if (this.attempt.state.finished) return;
    if (this.attempt.secondsLeft === 0) this.finish();
    else this.requestUpdate();
  }

  private choose(source: string): void {
    this.chosen = source;
  }

  private readonly nameSource = (): void => {
    if (this.chosen === null) return;
    this.tell(this.attempt.name(this.chosen));
    this.chosen = null;
  };

  private tell(problem: string | null): void {
    this.problem = problem;
    this.requestUpdate();
  }

  private readonly finish = (): void => {
    this.tell(this.attempt.finish());
    clearInterval(this.ticking);
    this.bench.pause(); // the hidden patients need the processor
    this.mark();
  };

  private readonly mark = (): void => {
    void this.marking.start({ drill: this.drill, state: this.attempt.state });
  };

  private marked(): void {
    const mark = this.marking.result;
    if (mark === null) return;
    const { attempt, drill, learner } = this;
    this.done = { file: drillFile(drill, learner, version, attempt.events, mark), mark, doneAtMs: Date.now() };
    attempt.reveal();
    this.dispatchEvent(new CustomEvent('drill-done', { detail: this.done }));
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('#drill-title')?.focus());
  }

  private readonly save = (): void => {
    if (!this.done) return;
    const text = JSON.stringify(this.done.file, null, 1);
    saveFile(`${this.drill.id}.json`, new Blob([text], { type: 'application/json' }));
  };
}

function upperFirst(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** In the order of the alphabet, so that the place in the list tells nothing. */
function byLabel(ids: readonly string[], label: (id: string) => string): string[] {
  return [...ids].sort((a, b) => (label(a) < label(b) ? -1 : 1));
}
