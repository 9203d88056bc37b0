import type { ActionTarget } from '../../core/scenario/actions/action.ts';
import { resolveScenario, ScenarioError, withOverrides } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { type LaneSetting, racingLanesOf } from '../../core/session/lanes.ts';
import type { BenchReply, Speed } from '../worker/protocol.ts';
import type { BenchEngine } from './benchEngine.ts';
import type { BenchPlace } from './benchPlace.ts';
import { Desk } from './desk.ts';
import { type BenchEvent, effectiveS, withEvent } from './handsOn.ts';
import { type LaneChoice, laneBeside, lanesChosen, MAX_LANES } from './laneChoice.ts';
import { RunRecord } from './runRecord.ts';
import type { SeriesRun } from './series.ts';

/** What has changed: the settings, how the run is driven, the data of the run, or what is looked at. */
export type BenchChange = 'settings' | 'run' | 'data' | 'view';

export type BenchListener = (change: BenchChange) => void;

export type RunState = 'running' | 'paused' | 'finished' | 'failed';

/** A run kept for comparison, as it stood or still stands. */
export interface KeptRun {
  scenario: Scenario;
  seed: string;
  lanes: LaneSetting[];
  record: RunRecord;
}

/** Speed at which a session of two to three minutes unfolds in ten to twenty seconds. Our choice. */
const DEFAULT_SPEED = 10;

/**
 * The bench: one patient, some lanes, and what the person at the bench has set and done.
 *
 * Observable state in physical units; it knows no colour and no pixel. Every change of a setting starts the same
 * patient again from second 0, with the same seed; a change of the lanes and something done to the patient replay the
 * same sweeps up to the one that was there, and the run goes on from it. A refused setting leaves the last good
 * scenario running and is told in `problem`. Over 300 lines because it is the one state that every element shares.
 */
export class Bench {
  /** The scenario that runs: complete and valid. */
  scenario: Scenario;
  /** The partial scenario as edited; it may be one that `problem` refuses. */
  document: object;
  seed: string;
  state: RunState = 'paused';
  speed: Speed = DEFAULT_SPEED;
  record: RunRecord;
  /** Why the edited document does not run, in one line; null if it does. */
  problem: string | null = null;
  /** Why the run stopped, if it did. */
  failure: string | null = null;
  /** Told once the worker has died and the run was taken up again by a new one; null otherwise. */
  recovery: string | null = null;
  truthSealed = false;
  /** True while a lesson keeps the seal: the person's own switch does not move. */
  sealHeld = false;
  /** Whether the truth of this patient has been in sight: a seal that is put on later makes nobody forget it. */
  private truthSeen = false;
  /** Paths that may be changed; null for all of them. */
  freePaths: readonly string[] | null = null;
  /** What is locked is not shown either. */
  lockedHidden = false;
  /** Settings, or whole groups of them, that a lesson keeps out of sight whatever else is shown. */
  hiddenPaths: readonly string[] = [];
  /** The sweep looked at; null to follow the newest. */
  selectedSweep: number | null = null;
  /** The place of an average that is asked after: who made this ripple; null for none. */
  ripple: { lane: number; latencyMs: number } | null = null;
  /** Sessions at several levels, as they were run. */
  series: readonly SeriesRun[] = [];
  /** The run kept as “before”; null for none. */
  kept: KeptRun | null = null;
  /** The view by its id; empty for the lanes and the race. */
  view = '';
  /** Whether the two split buffers are drawn over every average. */
  splitShown = false;
  /** What is being read, and its marks. */
  readonly desk = new Desk(this, () => this.tell('view'));
  private run_ = 0;
  private crashedAtSweeps = 0;
  /** The run that is replayed in the background; it takes the place of `record` where that one stands. */
  private coming: { record: RunRecord; fromSweeps: number; then: () => void } | null = null;
  private readonly listeners = new Set<BenchListener>();
  private readonly engine: BenchEngine;

  /** @throws {ScenarioError} if the document is refused, or names more lanes than the page can show */
  constructor(engine: BenchEngine, document: object, seed: string) {
    this.engine = engine;
    this.document = document;
    this.scenario = resolved(document);
    this.seed = seed;
    this.record = new RunRecord(this.scenario, this.laneSettings);
    engine.listen((reply) => this.take(reply));
  }

  /** Calls the listener on every change. @returns a function that ends it */
  subscribe(listener: BenchListener): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /**
   * Puts another patient on the bench and restarts it; it runs if the bench was running or had finished.
   *
   * @param document - a partial scenario, for instance a preset
   * @throws {ScenarioError} if it is refused; nothing changes
   */
  load(document: object, seed: string = this.seed): void {
    this.scenario = resolved(document);
    this.document = document;
    this.seed = seed;
    this.desk.startAgain();
    this.series = [];
    this.problem = null;
    this.truthSeen = false;
    this.begin(this.state !== 'paused');
    this.tell('settings');
  }

  /**
   * Changes one setting, for instance `set('stimulus.ratePerS', 31)`, and restarts the same patient; what concerns the
   * averaging alone changes no sweep, so the run is replayed to where it stood.
   *
   * A value that the scenario refuses is kept in `document`, told in `problem`, and changes nothing else.
   */
  set(path: string, value: unknown): void {
    const document = withOverrides(this.document, [`${path}=${JSON.stringify(value)}`]);
    this.apply(document, /^(averaging|lanes)\b/.test(path));
  }

  /** Changes several settings at once, by their paths; see `set`. */
  setAll(values: Record<string, unknown>): void {
    const assignments = Object.entries(values).map(([path, value]) => `${path}=${JSON.stringify(value)}`);
    this.apply(withOverrides(this.document, assignments), false);
  }

  /** The value of a setting as edited, with the scenario's own where the document has none. */
  valueAt(path: string): unknown {
    return valueAt(this.document, path) ?? valueAt(this.scenario, path);
  }

  /** Another patient of the same kind. */
  setSeed(seed: string): void {
    this.seed = seed;
    this.truthSeen = false;
    this.begin(this.state !== 'paused');
    this.tell('settings');
  }

  /** What the engine runs: the lanes with all their tunables. */
  get laneSettings(): LaneSetting[] {
    return racingLanesOf(this.scenario);
  }

  /** The lanes as chosen. */
  get lanes(): readonly LaneChoice[] {
    return lanesChosen(this.scenario);
  }

  /** Changes the lanes; the same sweeps are run past the new ones up to where the run stood. */
  setLanes(lanes: readonly LaneChoice[]): void {
    this.applyOrLeave({ ...this.document, lanes });
  }

  /** One more lane; a strategy that races already gets tunables of its own, so that the two can differ. */
  addLane(strategy: string): void {
    this.setLanes([...this.lanes, laneBeside(this.scenario, this.lanes, strategy)]);
  }

  removeLane(lane: number): void {
    this.setLanes(this.lanes.filter((_, k) => k !== lane));
  }

  /** Gives one lane a tunable of its own. */
  setTunable(lane: number, key: string, value: number): void {
    this.setLanes(
      this.lanes.map((choice, k) =>
        k === lane ? { ...choice, parameters: { ...choice.parameters, [key]: value } } : choice,
      ),
    );
  }

  /**
   * Does something to the patient or the room, now: it becomes an event of the scenario, after all sweeps so far.
   *
   * The run is replayed to the sweep that was there, bit for bit, and goes on. What makes no sense is told in `problem`.
   */
  act(action: BenchEvent['action'], target: ActionTarget = 'none'): void {
    const { scenario } = this;
    const atS = effectiveS(scenario, this.record.seconds);
    this.setEvents(withEvent(scenario.events, atS, action, target));
  }

  /** Replaces what is done during the session; the run is replayed to where it stood. */
  setEvents(events: readonly Partial<BenchEvent>[]): void {
    this.applyOrLeave({ ...this.document, events });
  }

  /** Keeps the run as it is for comparison. @param run - null to forget the kept one */
  keep(run: KeptRun | null = this.asKept()): void {
    this.kept = run;
    this.tell('view');
  }

  /**
   * Leaves only these paths free to change; null frees all. The page shows the others disabled.
   *
   * @param hidden - true to hide what is locked: the patient is a riddle
   * @param hiddenPaths - settings or groups of them that are out of sight in any case
   */
  lock(freePaths: readonly string[] | null, hidden = false, hiddenPaths: readonly string[] = []): void {
    this.freePaths = freePaths;
    this.lockedHidden = hidden;
    this.hiddenPaths = hiddenPaths;
    this.tell('settings');
  }

  isFree(path: string): boolean {
    return this.freePaths === null || this.freePaths.includes(path);
  }

  /** Whether a setting must not be seen. */
  isHidden(path: string): boolean {
    if (this.lockedHidden && !this.isFree(path)) return true;
    return this.hiddenPaths.some((hidden) => path === hidden || path.startsWith(`${hidden}.`));
  }

  /** Whether something of the scenario must not be seen, so that the scenario as a whole must not leave the page. */
  get keepsSecrets(): boolean {
    return this.lockedHidden || this.hiddenPaths.length > 0;
  }

  /** Seals or shows the truth. @param held - true to take the switch away from the person, as a lesson does */
  sealTruth(sealed: boolean, held = false): void {
    if (!this.truthSealed && this.record.offeredCount > 0) this.truthSeen = true;
    this.truthSealed = sealed;
    this.sealHeld = held;
    this.tell('view');
  }

  /** Whether marks that are put down now are put down without knowing the truth. */
  get readsBlind(): boolean {
    return this.truthSealed && (this.sealHeld || !this.truthSeen);
  }

  /** Replaces the sessions at several levels. */
  setSeries(series: readonly SeriesRun[]): void {
    this.series = series;
    this.tell('view');
  }

  /** Asks who made the ripple of a lane's average at a latency; null to ask no more. */
  askRipple(ripple: { lane: number; latencyMs: number } | null): void {
    this.ripple = ripple;
    this.tell('view');
  }

  /** Opens a view. */
  showView(id: string): void {
    if (id === this.view) return;
    this.view = id;
    this.tell('view');
  }

  /**
   * Takes the run up where it stood, and waits there: the same sweeps are run again, marks are put down, and committed on
   * the average on which they were committed.
   *
   * @param running - whether a run that begins is let go
   */
  restore({ sweeps, view, selectedSweep, desk }: BenchPlace, running = true): void {
    const { committed } = desk;
    this.view = view;
    this.desk.putBack(desk.lane, desk.marks);
    const arrive = () => {
      if (committed?.sweeps === this.record.offeredCount) this.desk.putBackCommitted(committed.sealed);
      if (this.record.offeredCount < Math.min(sweeps, this.record.sweepCount)) this.begin(false, sweeps, arrive);
      else if (selectedSweep !== null) this.selectSweep(selectedSweep);
    };
    this.begin(running && sweeps === 0, committed?.sweeps ?? sweeps, arrive);
    this.tell('run');
  }

  /** Draws the split buffers over the averages, or not. */
  showSplit(shown: boolean): void {
    this.splitShown = shown;
    this.tell('view');
  }

  /** Goes on, or starts again after the end. */
  run(): void {
    if (this.state === 'finished' || this.state === 'failed') {
      this.begin(true);
    } else {
      this.state = 'running';
      this.engine.send({ kind: 'run' });
    }
    this.tell('run');
  }

  pause(): void {
    if (this.state !== 'running') return;
    this.state = 'paused';
    this.engine.send({ kind: 'pause' });
    this.tell('run');
  }

  /** The same patient from second 0. @param running - false to wait there */
  restart(running = true): void {
    this.begin(running);
    this.tell('run');
  }

  /** Offers one sweep and waits. */
  step(): void {
    if (this.state === 'finished' || this.state === 'failed') return;
    this.state = 'paused';
    this.engine.send({ kind: 'step' });
    this.tell('run');
  }

  setSpeed(speed: Speed): void {
    this.speed = speed;
    this.engine.send({ kind: 'speed', speed });
    this.tell('run');
  }

  /** Looks at a sweep; null follows the newest. Numbers outside the run so far are moved into it. */
  selectSweep(index: number | null): void {
    const last = this.record.offeredCount - 1;
    this.selectedSweep = index === null || last < 0 ? null : Math.max(0, Math.min(last, Math.round(index)));
    this.tell('view');
  }

  /** The sweep looked at, by its number; −1 before the first. */
  get shownSweep(): number {
    return this.selectedSweep ?? this.record.offeredCount - 1;
  }

  /** True while the same sweeps are run again in the background. */
  get isReplaying(): boolean {
    return this.coming !== null;
  }

  /** Ends the engine. */
  close(): void {
    this.engine.close();
    this.listeners.clear();
  }

  private asKept(): KeptRun {
    const { scenario, seed, laneSettings: lanes, record } = this;
    return { scenario, seed, lanes, record };
  }

  /** Sweeps that the person has seen, those of a replay on its way included. */
  private get shownSweeps(): number {
    return this.coming?.fromSweeps ?? this.record.offeredCount;
  }

  /** Puts an edited document on the bench. @param replay - to go on where the run stood, not from second 0 */
  private apply(document: object, replay: boolean): void {
    this.document = document;
    try {
      this.scenario = resolved(document);
      this.problem = null;
      if (replay) this.begin(this.state === 'running', this.shownSweeps);
      else this.begin(this.state !== 'paused');
    } catch (error) {
      if (!(error instanceof RangeError)) throw error; // a ScenarioError, or a lane's tunable refused
      this.problem = error.message;
    }
    this.tell('settings');
  }

  /** Puts an edit on the bench that has no field to correct it in: if it is refused, it is told and dropped. */
  private applyOrLeave(document: object): void {
    const before = this.document;
    this.apply(document, true);
    if (this.problem !== null) this.document = before;
  }

  private begin(running: boolean, replaySweeps = 0, then: () => void = () => {}): void {
    const record = new RunRecord(this.scenario, this.laneSettings);
    const replayed = Math.min(replaySweeps, record.sweepCount);
    this.run_++;
    this.failure = null;
    this.recovery = null;
    if (replayed === 0) this.crashedAtSweeps = 0;
    this.state = running ? 'running' : 'paused';
    this.coming = replayed > 0 ? { record, fromSweeps: replayed, then } : null;
    if (this.coming === null) {
      this.selectedSweep = null;
      this.record = record;
    }
    this.engine.send({
      kind: 'start',
      run: this.run_,
      scenario: this.scenario,
      lanes: this.laneSettings,
      seed: this.seed,
      speed: this.speed,
      running,
      replaySweeps: replayed,
    });
  }

  private take(reply: BenchReply): void {
    if (reply.run !== this.run_) return; // a run that has been replaced since
    if (reply.kind === 'failed') {
      if (reply.crashed && this.state === 'finished') return; // nothing is missing; the next start opens a new one
      if (reply.crashed && this.shownSweeps > this.crashedAtSweeps) {
        // Same sweeps, same place. A second crash without any sweep more is told and left to the person.
        this.crashedAtSweeps = this.shownSweeps;
        this.begin(this.state === 'running', this.shownSweeps, this.coming?.then);
        this.recovery = `The simulation stopped (${reply.message}). It was started again and goes on where it stood.`;
        this.tell('run');
        return;
      }
      this.state = 'failed';
      this.failure = reply.message;
      this.coming = null;
      this.tell('run');
      return;
    }
    if (this.coming) {
      const { record, fromSweeps, then } = this.coming;
      record.add(reply);
      if (record.offeredCount < fromSweeps) return; // the older run stays in sight until the new one has caught up
      this.record = record;
      this.coming = null;
      then();
    } else {
      this.record.add(reply);
    }
    if (reply.finished) {
      this.state = 'finished';
      this.tell('run');
    }
    this.tell('data');
  }

  private tell(change: BenchChange): void {
    for (const listener of this.listeners) listener(change);
  }
}

/** Completes a document and checks that the page can show it. */
function resolved(document: object): Scenario {
  const scenario = resolveScenario(document);
  const count = scenario.lanes.length;
  if (count > MAX_LANES) throw new ScenarioError(`lanes: must be at most ${MAX_LANES} on the page, got ${count}`);
  racingLanesOf(scenario); // refuses an impossible tunable of a lane
  return scenario;
}

function valueAt(document: unknown, path: string): unknown {
  let value = document;
  for (const key of path.split('.')) value = (value as Record<string, unknown> | undefined)?.[key];
  return value;
}
