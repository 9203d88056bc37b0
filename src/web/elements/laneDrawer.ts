import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { averagingStrategies, averagingStrategy } from '../../core/averaging/index.ts';
import type { Bench } from '../model/bench.ts';
import { type Control, controlAt, tunableLabel } from '../model/controls.ts';
import { type LaneChoice, laneBeside, MAX_LANES, scenarioTunables } from '../model/laneChoice.ts';
import { laneLetters } from '../model/narration.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import './quantity.ts';
import { sharedStyles } from './sharedStyles.ts';

/** Which strategies race: lanes are added, taken out, given another strategy and tuned while the run goes on. */
@customElement('sweep-lane-drawer')
export class SweepLaneDrawer extends LitElement {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      details { border-top: 1px dotted var(--rule); }
      details:first-of-type { border-top: none; }
      summary { display: flex; gap: 0.4rem; align-items: center; padding: 0.2rem 0; font-size: 0.93rem; min-width: 0; }
      summary::before { content: '▸'; flex: none; width: 0.8rem; color: var(--ink-soft); }
      details[open] summary::before { content: '▾'; }
      .name { flex: 1; min-width: 0; overflow-wrap: anywhere; }
      .row { display: flex; gap: 0.35rem; align-items: center; padding: 0.15rem 0 0.35rem; }
      select { flex: 1; min-width: 0; width: 100%; }
      .note { font-size: 0.84rem; color: var(--ink-soft); padding-bottom: 0.25rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings']);
  }

  override render() {
    const { bench } = this;
    const locked = bench.freePaths !== null;
    return html`
      ${bench.lanes.map((choice, lane) => this.lane(choice, lane, locked))}
      ${
        bench.lanes.length < MAX_LANES
          ? html`<div class="row"><label class="unseen" for="add">Another lane</label>
              <select id="add" ?disabled=${locked} @change=${this.add}>
                <option value="">Add a lane …</option>
                ${averagingStrategies.map(({ id, label }) => html`<option value=${id}>${label}</option>`)}
              </select></div>`
          : html`<p class="note">Six lanes race: take one out to add another.</p>`
      }
    `;
  }

  private lane(choice: LaneChoice, lane: number, locked: boolean) {
    const { bench } = this;
    const strategy = averagingStrategy(choice.strategy);
    const keys = Object.keys(strategy.parameters.properties);
    const values = { ...scenarioTunables(bench.scenario, choice.strategy), ...choice.parameters } as Record<
      string,
      number
    >;
    return html`<details>
      <summary>${laneBadge(lane)}<span class="name">${choice.name || strategy.label}${choice.flagAware ? ' · flag-aware' : ''}</span></summary>
      <p class="note">${strategy.summary}</p>
      <div class="row">
        <select aria-label=${`Strategy of lane ${laneLetters[lane]}`} ?disabled=${locked}
          @change=${(event: Event) => this.replace(lane, (event.target as HTMLSelectElement).value)}>
          ${averagingStrategies.map(
            ({ id, label }) => html`<option value=${id} ?selected=${id === choice.strategy}>${label}</option>`,
          )}
        </select>
        <button ?disabled=${locked || bench.lanes.length === 1}
          @click=${() => bench.removeLane(lane)}>Take out<span class="unseen"> lane ${laneLetters[lane]}</span></button>
      </div>
      ${keys.length === 0 ? html`<p class="note">Nothing to tune.</p>` : nothing}
      ${keys.map((key) => {
        const path = `averaging.${strategy.scenarioKey}.${key}`;
        if (bench.isHidden(path)) return nothing;
        const control = controlAt(path, tunableLabel(key)) as Control & { kind: 'number' };
        return html`<sweep-quantity .control=${control} .value=${values[key]} ?locked=${!bench.isFree(path)}
          @quantity-set=${(event: CustomEvent<{ value: number }>) => this.tune(lane, key, path, event.detail.value)}></sweep-quantity>`;
      })}
    </details>`;
  }

  private tune(lane: number, key: string, path: string, value: number): void {
    const { bench } = this;
    if (!(key in bench.lanes[lane].parameters) || Number.isNaN(value)) {
      bench.set(path, Number.isNaN(value) ? null : value); // an emptied field is refused by name
      return;
    }
    bench.setTunable(lane, key, value);
  }

  private replace(lane: number, strategy: string): void {
    const { bench } = this;
    const others = bench.lanes.filter((_, k) => k !== lane);
    const placed = laneBeside(bench.scenario, others, strategy);
    bench.setLanes(bench.lanes.map((choice, k) => (k === lane ? placed : choice)));
  }

  private add(event: Event): void {
    const field = event.target as HTMLSelectElement;
    const { value } = field;
    field.value = '';
    if (value !== '') this.bench.addLane(value);
  }
}
