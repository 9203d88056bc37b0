import { html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Bench, BenchChange } from '../model/bench.ts';
import { actionOnKey } from '../model/handsOn.ts';
import { milestones } from '../model/narration.ts';
import type { TableHost } from '../model/viewTables.ts';
import { painter } from '../stage/painter.ts';
import { BenchController } from './benchController.ts';
import './hands.ts';
import type { SweepHands } from './hands.ts';
import type { SweepKeyList } from './keyList.ts';
import { labStyles } from './labStyles.ts';
import type { SweepRecording } from './recording.ts';
import { sharedStyles } from './sharedStyles.ts';
import type { SweepStudy } from './studyView.ts';
import type { SweepTakeAway } from './takeAway.ts';
import { takesKeys } from './takesKeys.ts';
import { nextTheme, setTheme, storedTheme, type Theme } from './theme.ts';
import { type View, views } from './views.ts';

const tabs = [
  ['settings', 'Settings'],
  ['lessons', 'Lessons'],
  ['drills', 'Drills'],
  ['recording', 'Own recording', 'Recording'],
] as const;

type Tab = (typeof tabs)[number][0];

const SCENARIO_FILE = /\.(ya?ml|json)$/i;
const RESULTS_FILE = /\.jsonl$/i;

/** The whole lab: patient and drive on top, belt, lanes and race, and the panel with settings, lessons, recordings. */
@customElement('sweep-lab')
export class SweepLab extends LitElement {
  static override styles = [sharedStyles, labStyles];

  @property({ attribute: false }) bench!: Bench;
  @state() private tab: Tab = 'settings';
  @state() private theme: Theme = storedTheme();
  @state() private announcement = '';
  @state() private fileProblem: string | null = null;
  @state() private dropping = false;
  @state() private handsShown = false;
  @state() private view: View = views[0];
  @state() private latePanelsHere = false;
  private latePanels: Promise<void> | null = null;
  private readonly news = milestones();

  constructor() {
    super();
    new BenchController(this, (change) => this.announce(change));
  }

  /** Lessons and own recordings are opened by few first visits: their code comes once the bench is on the screen. */
  override firstUpdated(): void {
    this.latePanels = Promise.all([
      import('./lesson-list.ts'),
      import('./drill-list.ts'),
      import('./recording.ts'),
    ]).then(() => {
      this.latePanelsHere = true;
    });
  }

  override connectedCallback(): void {
    super.connectedCallback();
    document.addEventListener('keydown', this.onKey);
    this.addEventListener('dragover', this.onDragOver);
    this.addEventListener('dragleave', () => {
      this.dropping = false;
    });
    this.addEventListener('drop', this.onDrop);
    this.addEventListener(
      'sweep-file',
      (event) => void this.open([(event as CustomEvent<{ file: File }>).detail.file]),
    );
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    document.removeEventListener('keydown', this.onKey);
  }

  override render() {
    const { bench } = this;
    return html`
      <div class=${`${this.tab === 'settings' ? '' : 'reading'} ${this.dropping ? 'dropping' : ''}`} style=${`display: contents; --strip: ${this.handsShown ? 9 : 0}rem`}>
        <header>
          <h1>Sweepwise</h1>
          <sweep-patient .bench=${bench}></sweep-patient>
          <nav aria-label="Page">
            <button @click=${this.takeAway} title="Link, pictures, numbers, recording, report">Take away</button>
            <button @click=${this.changeTheme}>${themeWords[this.theme]}</button>
            <button @click=${this.showKeys} title="Keys and signs">Help ?</button>
          </nav>
        </header>
        <sweep-drive role="region" aria-label="Run" .bench=${bench} ?handsShown=${this.handsShown} @hands-toggle=${this.toggleHands}></sweep-drive>
        ${this.handsShown ? html`<sweep-hands .bench=${bench}></sweep-hands>` : nothing}
        ${
          this.fileProblem === null
            ? nothing
            : html`<div class="problem"><p role="alert">${this.fileProblem}</p><button @click=${this.forgetProblem}>Dismiss</button></div>`
        }
        <main>
          <sweep-belt .bench=${bench}></sweep-belt>
          <nav class="rail" aria-label="Views">
            ${views.map(
              (view, k) => html`<button aria-current=${view === this.view ? 'page' : nothing} aria-keyshortcuts=${k + 1}
                title=${`${view.title} (${k + 1})`} @click=${() => this.look(view)}>${view.title}</button>`,
            )}
          </nav>
          <div class="view" ?hidden=${this.view === views[0]}>${
            bench.keepsSecrets && this.view.showsSettings
              ? html`<p class="soft" id="riddle">${
                  bench.lockedHidden
                    ? 'This view is part of the riddle: out of sight until it is solved.'
                    : 'This lesson keeps some settings out of sight, and this view with them.'
                }</p>`
              : this.view.render(bench)
          }</div>
          <div class="lanes" tabindex="0" role="group" aria-label="Lanes" ?hidden=${this.view !== views[0]}>
            ${bench.record.lanes.map(
              (_, lane, all) =>
                html`<sweep-lane .bench=${bench} .lane=${lane} ?last=${lane === all.length - 1}></sweep-lane>`,
            )}
          </div>
          <div class="side" ?hidden=${this.view !== views[0]}>
            <sweep-race .bench=${bench}></sweep-race>
            <sweep-inspector .bench=${bench}></sweep-inspector>
          </div>
          <aside aria-label="Panel">
            <div class="tabs" role="tablist" aria-label="Panel">
              ${tabs.map(([id, title, short = title]) => {
                const chosen = id === this.tab;
                return html`<button role="tab" id=${`tab-${id}`} aria-selected=${chosen} aria-controls="panel" aria-label=${title}
                  tabindex=${chosen ? 0 : -1} @click=${() => this.choose(id)} @keydown=${this.onTabKey}>${short}</button>`;
              })}
            </div>
            <div id="panel" role="tabpanel" aria-labelledby=${`tab-${this.tab}`}>
              <sweep-drawer .bench=${bench} ?hidden=${this.tab !== 'settings'}></sweep-drawer>
              ${
                this.latePanelsHere
                  ? html`<sweep-lesson-list .bench=${bench} ?hidden=${this.tab !== 'lessons'}></sweep-lesson-list>
                      <sweep-drill-list .bench=${bench} ?hidden=${this.tab !== 'drills'}></sweep-drill-list>
                      <sweep-recording .bench=${bench} ?hidden=${this.tab !== 'recording'}></sweep-recording>`
                  : nothing
              }
            </div>
          </aside>
        </main>
        <footer>
          <span>
            Teaching simulation. Model values, not normative, not for clinical decisions; follow local protocols and
            licensed practice. The lab makes no sound.
          </span>
          <sweep-cautions .bench=${bench}></sweep-cautions>
        </footer>
        <p class="unseen" role="status" aria-live="polite">${this.announcement}</p>
        <sweep-key-list></sweep-key-list>
        <sweep-take-away .bench=${bench}></sweep-take-away>
      </div>
    `;
  }

  /** Tells a problem with a link or a file above the pictures. */
  showProblem(message: string): void {
    this.fileProblem = message;
  }

  private forgetProblem(): void {
    this.fileProblem = null;
  }

  private choose(tab: Tab): void {
    this.tab = tab;
  }

  private announce(change: BenchChange): void {
    if (change === 'settings') this.announcement = 'Settings changed: the same patient from second 0.';
    const news = this.news(this.bench);
    const wanted = views.find(({ id }) => id === this.bench.view) ?? views[0];
    if (change === 'run' && wanted !== this.view) void this.look(wanted); // a link was opened
    if (news.length > 0) this.announcement = news.join(' ');
  }

  private changeTheme(): void {
    this.theme = nextTheme(this.theme);
    setTheme(this.theme);
    painter.invalidateAll();
  }

  private async look(view: View): Promise<void> {
    await view.load();
    if (view !== this.view) this.renderRoot.querySelector('.view')?.scrollTo(0, 0); // each view begins at its top
    this.view = view;
    this.bench.showView(view === views[0] ? '' : view.id);
    await this.updateComplete;
    // On a narrow screen the rail scrolls sideways: what was chosen by key or link comes into sight.
    this.renderRoot.querySelector('.rail [aria-current]')?.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  }

  private toggleHands(): void {
    this.handsShown = !this.handsShown;
  }

  private showKeys(): void {
    this.renderRoot.querySelector<SweepKeyList>('sweep-key-list')?.show();
  }

  private takeAway(): void {
    const looked = this.view === views[0] ? 'sweep-race' : '.view > *';
    const host = this.renderRoot.querySelector<LitElement & Partial<TableHost>>(looked);
    this.renderRoot.querySelector<SweepTakeAway>('sweep-take-away')?.show(host ?? {});
  }

  private onTabKey(event: KeyboardEvent): void {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!step) return;
    event.preventDefault();
    event.stopPropagation();
    const at = tabs.findIndex(([id]) => id === this.tab);
    this.tab = tabs[(at + step + tabs.length) % tabs.length][0];
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>(`#tab-${this.tab}`)?.focus());
  }

  private readonly onKey = (event: KeyboardEvent): void => {
    const active = this.renderRoot.querySelector<SweepKeyList>('sweep-key-list')?.active ?? true;
    if (!active || event.ctrlKey || event.metaKey || event.altKey || takesKeys(event)) return;
    const { bench } = this;
    const actions: Record<string, () => void> = {
      ' ': () => (bench.state === 'running' ? bench.pause() : bench.run()),
      r: () => bench.restart(),
      n: () => bench.step(),
      t: () => {
        if (!bench.sealHeld) bench.sealTruth(!bench.truthSealed);
      },
      ArrowLeft: () => bench.selectSweep(bench.shownSweep - (event.shiftKey ? 10 : 1)),
      ArrowRight: () => bench.selectSweep(bench.shownSweep + (event.shiftKey ? 10 : 1)),
      Home: () => bench.selectSweep(0),
      End: () => bench.selectSweep(null),
      '.': () => this.toggleHands(),
      '/': () => bench.showSplit(!bench.splitShown),
      '?': () => this.showKeys(),
      ...Object.fromEntries(views.map((view, k) => [String(k + 1), () => void this.look(view)])),
    };
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const action = actions[key];
    const deed = this.handsShown && !action ? actionOnKey(key) : null;
    if (!action && deed === null) return;
    event.preventDefault();
    if (action) action();
    else if (deed !== null) this.renderRoot.querySelector<SweepHands>('sweep-hands')?.act(deed);
  };

  private readonly onDragOver = (event: DragEvent): void => {
    event.preventDefault();
    this.dropping = true;
  };

  private readonly onDrop = (event: DragEvent): void => {
    event.preventDefault();
    this.dropping = false;
    const files = [...(event.dataTransfer?.files ?? [])];
    if (files.length > 0) void this.open(files);
  };

  /** With the study in view, files are its own; else a scenario goes on the bench; anything else is a recording. */
  private async open(files: readonly File[]): Promise<void> {
    this.fileProblem = null;
    const [file] = files;
    const study = views.find(({ id }) => id === 'study');
    if (study && RESULTS_FILE.test(file.name)) await this.look(study);
    if (this.view === study) {
      await this.updateComplete;
      await this.renderRoot.querySelector<SweepStudy>('sweep-study')?.openFiles(files);
      return;
    }
    if (!SCENARIO_FILE.test(file.name)) {
      this.tab = 'recording';
      await this.latePanels;
      await this.updateComplete;
      await this.renderRoot.querySelector<SweepRecording>('sweep-recording')?.open(files);
      return;
    }
    try {
      const { readScenarioText } = await import('../../formats/scenarioText.ts'); // a reader that few visits need
      this.bench.load(readScenarioText(file.name, await file.text()));
      this.announcement = `Opened ${file.name}.`;
    } catch (error) {
      const message = (error as Error).message;
      this.fileProblem = message.startsWith(file.name) ? message : `${file.name}: ${message}`;
    }
  }
}

const themeWords = { auto: 'Theme: auto', light: 'Theme: light', dark: 'Theme: dark' } as const;
