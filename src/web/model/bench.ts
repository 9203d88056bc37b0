import { resolveScenario, ScenarioError, withOverrides } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { BenchReply, Speed } from '../worker/protocol.ts';
import type { BenchEngine } from './benchEngine.ts';
import { RunRecord } from './runRecord.ts';

/** What has changed: the settings, how the run is driven, the data of the run, or what is looked at. */
export type BenchChange = 'settings' | 'run' | 'data' | 'view';

export type BenchListener = (change: BenchChange) => void;

export type RunState = 'running' | 'paused' | 'finished' | 'failed';

/** Speed at which a session of two to three minutes unfolds in ten to twenty seconds. Our choice. */
const DEFAULT_SPEED = 10;

/**
 * The bench: one patient, four lanes, and what the person at the bench has set.
 *
 * Observable state in physical units; it knows no colour and no pixel. Every change of a setting starts the same
 * patient again from second 0, with the same seed. A refused setting leaves the last good scenario running and is
 * told in `problem`.
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
  truthSealed = false;
  /** True while a lesson keeps the seal: the person's own switch does not move. */
  sealHeld = false;
  /** Paths that may be changed; null for all of them. */
  freePaths: readonly string[] | null = null;
  /** The sweep looked at; null to follow the newest. */
  selectedSweep: number | null = null;
  private run_ = 0;
  private readonly listeners = new Set<BenchListener>();
  private readonly engine: BenchEngine;

  /** @throws {ScenarioError} if the document is refused */
  constructor(engine: BenchEngine, document: object, seed: string) {
    this.engine = engine;
    this.document = document;
    this.scenario = resolveScenario(document);
    this.seed = seed;
    this.record = new RunRecord(this.scenario);
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
   * @param document - a partial scenario, for instance a preset   @throws {ScenarioError} if it is refused; nothing changes
   */
  load(document: object, seed: string = this.seed): void {
    this.scenario = resolveScenario(document);
    this.document = document;
    this.seed = seed;
    this.problem = null;
    this.begin(this.state !== 'paused');
    this.tell('settings');
  }

  /**
   * Changes one setting, for instance `set('stimulus.ratePerS', 31)`, and restarts the same patient.
   *
   * A value that the scenario refuses is kept in `document`, told in `problem`, and changes nothing else.
   */
  set(path: string, value: unknown): void {
    this.document = withOverrides(this.document, [`${path}=${JSON.stringify(value)}`]);
    try {
      this.scenario = resolveScenario(this.document);
      this.problem = null;
      this.begin(this.state !== 'paused');
    } catch (error) {
      if (!(error instanceof ScenarioError)) throw error;
      this.problem = error.message;
    }
    this.tell('settings');
  }

  /** The value of a setting as edited, with the scenario's own where the document has none. */
  valueAt(path: string): unknown {
    return valueAt(this.document, path) ?? valueAt(this.scenario, path);
  }

  /** Another patient of the same kind. */
  setSeed(seed: string): void {
    this.seed = seed;
    this.begin(this.state !== 'paused');
    this.tell('settings');
  }

  /** Leaves only these paths free to change; null frees all. The page shows the others disabled. */
  lock(freePaths: readonly string[] | null): void {
    this.freePaths = freePaths;
    this.tell('settings');
  }

  isFree(path: string): boolean {
    return this.freePaths === null || this.freePaths.includes(path);
  }

  /** Seals or shows the truth. @param held - true to take the switch away from the person, as a lesson does */
  sealTruth(sealed: boolean, held = false): void {
    this.truthSealed = sealed;
    this.sealHeld = held;
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

  /** Ends the engine. */
  close(): void {
    this.engine.close();
    this.listeners.clear();
  }

  private begin(running: boolean): void {
    this.run_++;
    this.state = running ? 'running' : 'paused';
    this.failure = null;
    this.selectedSweep = null;
    this.record = new RunRecord(this.scenario);
    this.engine.send({
      kind: 'start',
      run: this.run_,
      scenario: this.scenario,
      seed: this.seed,
      speed: this.speed,
      running,
    });
  }

  private take(reply: BenchReply): void {
    if (reply.run !== this.run_) return; // a run that has been replaced since
    if (reply.kind === 'failed') {
      this.state = 'failed';
      this.failure = reply.message;
      this.tell('run');
      return;
    }
    this.record.add(reply);
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

function valueAt(document: unknown, path: string): unknown {
  let value = document;
  for (const key of path.split('.')) value = (value as Record<string, unknown> | undefined)?.[key];
  return value;
}
