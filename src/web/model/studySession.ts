import type { Block } from '../../study/block.ts';
import { type BlockStore, checkRows } from '../../study/blockStore.ts';
import { driveStudy, type StudyProgress, type StudyState } from '../../study/drive.ts';
import type { Engine, StudyOrder } from '../../study/engine.ts';
import { planStudy, type StudyPlan } from '../../study/plan.ts';
import {
  blockLine,
  headLine,
  outsideOfHead,
  type StoredResults,
  type StudyHead,
  studyHead,
} from '../../study/resultsFile.ts';
import type { BlockRows } from '../../study/runBlock.ts';
import { StudyError } from '../../study/studyError.ts';
import { csvHeader, csvOfBlock } from '../../study/tables/rowsCsv.ts';
import { firstForm, type StudyForm } from './studyForm.ts';

/** Files that a study names, by that name. */
export type StudyBytes = ReadonlyMap<string, Uint8Array>;

/** What a study tells, as HTML, and its summary as a table. */
export interface StudyReport {
  /** From second-order headings down, for the page. */
  body: string;
  /** A page of its own. */
  page: string;
  summaryCsv: string;
}

/** Rows of a study in the order of the plan. */
export interface ReportOrder {
  head: StudyHead;
  entries: { block: Block; rows: BlockRows }[];
  finished: boolean;
}

/** What does the work of a session: workers on the page, anything in tests. */
export interface StudyTools {
  engine(bytes: StudyBytes): Engine;
  report(order: ReportOrder): Promise<StudyReport>;
}

/** empty: nothing planned; ready, running, stopped: not all rows are there; finished: they are. */
export type StudyStage = 'empty' | 'ready' | 'running' | 'stopped' | 'finished';

/**
 * One study on the page: set up or opened, run, stopped, gone on with, read. It lives on while other views are looked at.
 *
 * Rows are kept in memory; a stopped study can be saved as a results file and opened again.
 */
export class StudySession {
  form: StudyForm = firstForm();
  stage: StudyStage = 'empty';
  plan: StudyPlan | null = null;
  /** Version of the program that made the rows; another than that of this lab can be read, and not gone on with. */
  version: string;
  progress: StudyProgress | null = null;
  problem: string | null = null;
  report: StudyReport | null = null;
  /** Whether a report is being worked out. */
  isReading = false;
  readonly labVersion: string;
  private readonly tools: StudyTools;
  private readonly listeners = new Set<() => void>();
  private bytes: StudyBytes = new Map();
  private kept = new Map<string, BlockRows>();
  private abort: AbortController | null = null;

  constructor(tools: StudyTools, labVersion: string) {
    this.tools = tools;
    this.labVersion = labVersion;
    this.version = labVersion;
  }

  /** Follows every change; returns the end of it. */
  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Whether rows of this study can be made here: version and files are there. */
  get canRun(): boolean {
    return this.whyNot === null;
  }

  /** Why no rows can be made here, or null. */
  get whyNot(): string | null {
    const { plan, version, labVersion } = this;
    if (!plan) return 'There is no study yet.';
    if (version !== labVersion)
      return `These rows are of version ${version}, this lab is ${labVersion}: they can be read, not added to.`;
    const own = plan.files.find(({ kind }) => kind === 'strategy');
    if (own) return `${own.name} is a strategy from a file: it runs in the terminal; its results can be read here.`;
    const missing = plan.files.find(({ name }) => !this.bytes.has(name));
    return missing ? `${missing.name} is not here: open it together with the study.` : null;
  }

  /** Whether the rows of the study so far can be saved. */
  get hasRows(): boolean {
    return this.kept.size > 0;
  }

  /**
   * Takes a study; rows of the one before are let go of, unless it is the same.
   *
   * @throws {StudyError} for a study that cannot be; what was there stays
   */
  take(order: StudyOrder, bytes: StudyBytes = new Map()): void {
    if (order.files.some(({ kind }) => kind === 'strategy')) {
      const { name } = order.files.find(({ kind }) => kind === 'strategy') as { name: string };
      throw new StudyError(
        `strategies: ${name} runs in the terminal only (sweepwise study run); its results open here`,
      );
    }
    const plan = planStudy(order.study, order.files);
    const same = plan.hash === this.plan?.hash && this.version === this.labVersion;
    this.stop();
    this.plan = plan;
    this.bytes = bytes;
    this.version = this.labVersion;
    if (!same) this.forget();
    else if (this.stage === 'empty') this.stage = 'ready';
    this.tell();
  }

  /** Takes results of the page or of the terminal. @throws {StudyError} if they do not fit each other */
  async open({ head, blocks }: StoredResults): Promise<void> {
    const plan = planStudy(head.study, head.files, outsideOfHead(head));
    if (plan.hash !== head.hash) {
      throw new StudyError(`results: must be of the study that they name (${head.hash}), got one of ${plan.hash}`);
    }
    const fitting = blocks.filter(({ study, version }) => study === head.hash && version === head.version);
    if (fitting.length < blocks.length) {
      throw new StudyError(
        `results: must all be of study ${head.hash}, version ${head.version}, got others among them`,
      );
    }
    this.stop();
    this.plan = plan;
    this.version = head.version;
    this.bytes = new Map();
    this.forget();
    for (const rows of blocks) this.kept.set(rows.block, rows);
    const state = await this.look();
    this.stage = state.finished ? 'finished' : 'stopped';
    this.tell();
    await this.read();
  }

  /** Runs what is missing, until it is stopped; what is there is not run again. */
  async run(): Promise<void> {
    const { plan } = this;
    if (!plan || !this.canRun || this.stage === 'running') return;
    const abort = new AbortController();
    this.abort = abort;
    this.problem = null;
    this.stage = 'running';
    this.tell();
    const engine = this.tools.engine(this.bytes);
    try {
      const state = await driveStudy({
        store: this.store(plan),
        engine,
        signal: abort.signal,
        note: () => {},
        progress: (progress) => {
          if (this.abort !== abort) return;
          this.progress = progress;
          this.tell();
        },
      });
      if (this.abort === abort) this.stage = state.finished ? 'finished' : 'stopped';
    } catch (error) {
      if (this.abort !== abort) return;
      this.stage = 'stopped';
      this.problem = (error as Error).message;
    } finally {
      await engine.close();
    }
    if (this.abort !== abort) return;
    this.abort = null;
    this.tell();
    if (this.kept.size > 0) await this.read();
  }

  /** Stops at once; blocks in work are lost, nothing else. */
  stop(): void {
    this.abort?.abort();
  }

  /** Works out what the rows tell so far. */
  async read(): Promise<void> {
    const { plan, version } = this;
    if (!plan || this.isReading) return;
    this.isReading = true;
    this.tell();
    try {
      const { finished } = await this.look();
      const entries = await this.entries();
      const report = await this.tools.report({ head: studyHead(plan, version), entries, finished });
      if (this.plan === plan) this.report = report;
    } catch (error) {
      this.problem = (error as Error).message;
    } finally {
      this.isReading = false;
      this.tell();
    }
  }

  /** The table of rows, as the terminal writes it. */
  async rowsCsv(): Promise<string> {
    const { plan } = this;
    if (!plan) return '';
    const entries = await this.entries();
    return csvHeader(plan) + entries.map(({ block, rows }) => csvOfBlock(plan, block, rows)).join('');
  }

  /** The results file, as the terminal writes it. */
  async resultsFile(): Promise<string> {
    const { plan, version } = this;
    if (!plan) return '';
    const entries = await this.entries();
    return headLine(plan, version) + entries.map(({ rows }) => blockLine(rows)).join('');
  }

  /** Blocks that are there, in the order of the plan. */
  private async entries(): Promise<ReportOrder['entries']> {
    const { blocks } = await this.look();
    return blocks.flatMap((block) => {
      const rows = this.kept.get(block.id);
      return rows ? [{ block, rows }] : [];
    });
  }

  private look(): Promise<StudyState> {
    const { signal } = new AbortController();
    const progress = (state: StudyProgress) => {
      if (this.stage !== 'running') this.progress = { ...state, madeNow: 0 };
    };
    const store = this.store(this.plan as StudyPlan);
    return driveStudy({ store, engine: null, signal, progress, note: () => {} });
  }

  private store(plan: StudyPlan): BlockStore {
    const { version, kept } = this;
    return {
      plan,
      version,
      has: ({ id }) => kept.has(id),
      store(block, rows) {
        checkRows({ plan, version }, block, rows);
        kept.set(block.id, rows);
      },
      rows: ({ id }) => kept.get(id) ?? null,
    };
  }

  private forget(): void {
    this.kept = new Map();
    this.report = null;
    this.progress = null;
    this.problem = null;
    this.abort = null;
    this.stage = 'ready';
  }

  private tell(): void {
    for (const listener of this.listeners) listener();
  }
}
