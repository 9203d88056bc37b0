import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { unsafeHTML } from 'lit/directives/unsafe-html.js';
import { stringify } from 'yaml';
import { mostRecordings, planStudy } from '../../study/plan.ts';
import type { Bench } from '../model/bench.ts';
import { secondsText } from '../model/numberText.ts';
import { type ChosenFile, openStudyFiles } from '../model/studyFiles.ts';
import { studyOfForm } from '../model/studyForm.ts';
import { StudySession } from '../model/studySession.ts';
import { studyTools } from '../worker/studyEngine.ts';
import { saveFile } from './saveFile.ts';
import { sharedStyles } from './sharedStyles.ts';
import './studyForm.ts';

/** One study for the whole visit: it goes on while other views are looked at. */
const session = new StudySession(studyTools(), import.meta.env.SWEEPWISE_CODE);

/** A parameter study: set up by hand or opened, run on all cores, stopped and gone on with, read, saved. */
@customElement('sweep-study')
export class SweepStudy extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host {
        --figure-grid: var(--rule); --figure-line: var(--ink); --figure-paper: var(--card); --figure-bar: var(--ink-faint);
        --series-1: var(--lane-e); --series-2: var(--lane-b); --series-3: var(--lane-c); --series-4: var(--lane-f);
        --series-5: var(--truth); --series-6: var(--lane-d); --series-7: var(--lane-a); --series-8: var(--target);
      }
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.8rem; align-items: baseline; }
      .row { display: flex; flex-wrap: wrap; gap: 0.35rem 0.6rem; align-items: center; margin: 0.45rem 0; }
      .row label { display: inline-flex; gap: 0.4rem; align-items: center; font-size: 0.92rem; }
      .opener { position: relative; border: 1px solid var(--ink-faint); border-radius: 3px; padding: 0.2rem 0.5rem; min-height: 1.9rem; cursor: pointer; background: var(--card); }
      .opener input { position: absolute; inset: 0; opacity: 0; cursor: pointer; width: 100%; }
      .opener:focus-within { outline: 2px solid var(--ink); outline-offset: 2px; }
      progress { flex: 1 1 8rem; max-width: 22rem; accent-color: var(--ink); }
      .problem { overflow-wrap: anywhere; }
      .plan { overflow-wrap: anywhere; max-width: 80ch; }
      pre { overflow: auto; max-height: 18rem; font-size: 0.84rem; border: 1px solid var(--rule); padding: 0.5rem; margin: 0.3rem 0; }
      .report { border-top: 1px solid var(--ink); margin-top: 0.6rem; padding-top: 0.4rem; }
      .report h2 { margin: 1rem 0 0.2rem; }
      .report p { margin: 0.3rem 0; max-width: 80ch; overflow-wrap: anywhere; }
      .report figure { margin: 0.8rem 0; }
      .report figcaption, .report .note, .report caption { color: var(--ink-soft); font-size: 0.88rem; text-align: left; }
      .report svg { display: block; min-width: 43rem; max-width: 58rem; width: 100%; height: auto; }
      .report svg text { font: 12px system-ui, sans-serif; fill: var(--ink); }
      .report .warning, .report .answer { border-left: 0.3rem solid var(--truth); padding: 0.1rem 0.7rem; }
      .report .scroll td, .report .scroll th { white-space: nowrap; }
      .report td:first-child, .report th:first-child { text-align: left; }
      .report th { text-align: right; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  /** Text of a study that was opened from a file; null while the form counts. */
  @state() private opened: { name: string; text: string } | null = null;
  @state() private problem: string | null = null;
  private end: (() => void) | null = null;

  override connectedCallback(): void {
    super.connectedCallback();
    this.end = session.subscribe(() => this.requestUpdate());
    this.opened = openedBefore;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.end?.();
  }

  override render() {
    const running = session.stage === 'running';
    const planned = this.planned();
    return html`
      <section aria-label="Study">
        <div class="head"><h2>Study</h2>
          <span class="soft">one question put to many patients; every setting gets the same sweeps</span></div>
        <div class="row">
          <label class="opener">Open a study or results<input id="files" type="file" multiple accept=".yaml,.yml,.json,.jsonl,.csv,.gz,.edf,.bdf,.hea,.dat,.atr,.txt,.tsv" ?disabled=${running} @change=${this.choose} /></label>
          <label class="opener">Open a folder of results<input id="folder" type="file" webkitdirectory ?disabled=${running} @change=${this.choose} /></label>
          ${this.opened ? html`<button ?disabled=${running} @click=${this.backToForm}>Set one up by hand</button>` : nothing}
        </div>
        ${this.opened ? this.openedStudy(this.opened) : html`<sweep-study-form .form=${session.form} .bench=${this.bench} ?locked=${running} @study-form=${this.formChanged}></sweep-study-form>`}
        ${planPart(planned)}
        ${this.runPart(planned)}
        ${session.report ? html`<div class="report" role="region" aria-label="Results">${unsafeHTML(session.report.body)}</div>` : nothing}
      </section>
    `;
  }

  /** Opens a study with the files that it names, or results. */
  openFiles(files: readonly File[]): Promise<void> {
    return this.open(files.map(chosenFile));
  }

  private async open(files: readonly ChosenFile[]): Promise<void> {
    this.problem = null;
    try {
      const found = await openStudyFiles(files);
      if (found.kind === 'study') {
        session.take(found.order, found.bytes);
        this.remember({ name: files[0].path, text: found.text });
      } else {
        await session.open(found.results);
        this.remember({ name: session.plan?.study.id ?? '', text: stringify(found.results.head.study) });
      }
    } catch (error) {
      this.problem = (error as Error).message;
    }
  }

  private openedStudy({ text }: { text: string }) {
    const { question } = session.plan?.study ?? { question: '' };
    return html`<p class="plan"><strong>${question}</strong></p>
      <details><summary>The study as text</summary><pre tabindex="0" aria-label="Study as text">${text}</pre></details>`;
  }

  /** What would be run, or why it cannot. */
  private planned(): Planned {
    if (this.problem !== null) return { problem: this.problem, text: '', hash: '' };
    try {
      // While it runs the form is locked: working it out anew at every block would hold up the page.
      const isOpen = this.opened !== null || session.stage === 'running';
      const plan = isOpen ? session.plan : planStudy(studyOfForm(session.form, this.bench.scenario));
      if (!plan) return { problem: null, text: '', hash: '' };
      const { conditions, settings, replicates } = plan;
      const each = replicates.until ? `${replicates.from} to ${replicates.to}` : String(replicates.to);
      return {
        problem: null,
        hash: plan.hash,
        text: `${counted(conditions.length, 'condition')}, ${counted(settings.length, 'setting')}, ${each} patients each: at most ${counted(mostRecordings(plan), 'recording')}. Hash ${plan.hash}.`,
      };
    } catch (error) {
      return { problem: (error as Error).message, text: '', hash: '' };
    }
  }

  private runPart({ problem, hash }: Planned) {
    const { stage, progress, whyNot, hasRows, isReading } = session;
    const running = stage === 'running';
    const isSame = hash === session.plan?.hash; // else the form has another study than the one that was run
    const refused = problem !== null || (isSame && (whyNot !== null || stage === 'finished'));
    return html`
      <div class="row">
        ${
          running
            ? html`<button id="stop" class="primary" @click=${() => session.stop()}>Stop</button>`
            : html`<button id="run" class="primary" ?disabled=${refused} @click=${this.run}>${isSame && stage === 'stopped' ? 'Go on' : 'Run the study'}</button>`
        }
        ${
          progress
            ? html`<progress max=${progress.inRound} .value=${progress.doneInRound} aria-label="Recordings of this round"></progress>
              <span class="number" id="progress">${progress.round ? `${progress.round}: ` : ''}${progress.doneInRound} of ${progress.inRound} recordings${running ? timeLeft(progress) : ''}</span>`
            : nothing
        }
        <span class="soft" role="status">${isReading ? 'Working out the results …' : stageWords[stage]}</span>
      </div>
      ${isSame && whyNot !== null ? html`<p class="soft">${whyNot}</p>` : nothing}
      ${!isSame && hasRows && !running ? html`<p class="soft">Rows and results below are of the study that was run before (${session.plan?.hash}); a new run lets go of them.</p>` : nothing}
      ${session.problem === null ? nothing : html`<p class="problem" role="alert">${session.problem}</p>`}
      <div class="row" role="group" aria-label="Take the results away">
        <button id="read" ?disabled=${!hasRows || isReading} @click=${() => void session.read()}>${running ? 'Results so far' : 'Read again'}</button>
        <button id="save-rows" ?disabled=${!hasRows} @click=${this.saveRows}>Rows, CSV</button>
        <button id="save-summary" ?disabled=${session.report === null} @click=${this.saveSummary}>Summary, CSV</button>
        <button id="save-report" ?disabled=${session.report === null} @click=${this.saveReport}>Report, HTML</button>
        <button id="save-results" ?disabled=${!hasRows} @click=${this.saveResults}>Results file</button>
        <button id="save-study" @click=${this.saveStudy}>Study file, YAML</button>
      </div>
      ${hasRows ? html`<p class="soft">Rows are in the memory of this page: save the results file to keep them, or to go on another day.</p>` : nothing}`;
  }

  private formChanged(): void {
    this.problem = null;
    this.requestUpdate();
  }

  private run(): void {
    this.problem = null;
    try {
      if (!this.opened) session.take({ study: studyOfForm(session.form, this.bench.scenario), files: [] });
    } catch (error) {
      this.problem = (error as Error).message;
      return;
    }
    if (this.bench.state === 'running') this.bench.pause(); // all cores for the study
    void session.run();
  }

  private remember(opened: { name: string; text: string } | null): void {
    openedBefore = opened;
    this.opened = opened;
  }

  private backToForm(): void {
    this.problem = null;
    this.remember(null);
  }

  private async choose(event: Event): Promise<void> {
    const field = event.target as HTMLInputElement;
    const files = [...(field.files ?? [])];
    field.value = '';
    if (files.length > 0) await this.openFiles(files);
  }

  private async saveRows(): Promise<void> {
    this.save('rows.csv', await session.rowsCsv(), 'text/csv');
  }

  private async saveResults(): Promise<void> {
    this.save('results.jsonl', await session.resultsFile(), 'application/jsonl');
  }

  private saveSummary(): void {
    this.save('summary.csv', session.report?.summaryCsv ?? '', 'text/csv');
  }

  private saveReport(): void {
    this.save('report.html', session.report?.page ?? '', 'text/html');
  }

  private saveStudy(): void {
    try {
      const text = this.opened?.text ?? stringify(studyOfForm(session.form, this.bench.scenario));
      this.save('study.yaml', text, 'application/yaml');
    } catch (error) {
      this.problem = (error as Error).message;
    }
  }

  private save(name: string, content: string, type: string): void {
    saveFile(`${session.plan?.study.id ?? 'study'}_${name}`, new Blob([content], { type }));
  }
}

/** What would be run, or the problem with it. */
interface Planned {
  problem: string | null;
  text: string;
  hash: string;
}

function planPart({ problem, text }: Planned) {
  return problem === null
    ? html`<p class="plan number" id="plan">${text}</p>`
    : html`<p class="problem" role="alert">${problem}</p>`;
}

let openedBefore: { name: string; text: string } | null = null;

const stageWords = {
  empty: '',
  ready: '',
  running: '',
  stopped: 'stopped; nothing that was done is lost',
  finished: 'finished',
};

/** A file as somebody chose it; with its folders where a folder was chosen. */
function chosenFile(file: File): ChosenFile {
  return {
    path: file.webkitRelativePath || file.name,
    bytes: async () => new Uint8Array(await file.arrayBuffer()),
  };
}

function timeLeft({ doneInRound, inRound, madeNow, secondsNow }: NonNullable<StudySession['progress']>): string {
  if (madeNow === 0) return '';
  const left = ((inRound - doneInRound) * secondsNow) / madeNow;
  return `, ${(madeNow / secondsNow).toFixed(1)} a second, ${secondsText(left)} left`;
}

function counted(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}
