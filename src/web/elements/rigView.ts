import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { type ElectrodeName, electrodeNames, testContacts } from '../../core/chain/contact.ts';
import { pickupByPath } from '../../core/noise/pickupPaths.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { Bench } from '../model/bench.ts';
import { type Control, controlAt } from '../model/controls.ts';
import { scenarioAt } from '../model/handsOn.ts';
import { decimalText, voltageText } from '../model/numberText.ts';
import { electrodeWords, type RigSettings, rooms, siteWords, tried } from '../model/rigPicture.ts';
import { rigTables, type TableHost } from '../model/viewTables.ts';
import './dataTables.ts';
import { BenchController } from './benchController.ts';
import './quantity.ts';
import './rigHead.ts';
import { tablesOn } from '../model/pictureTables.ts';
import type { RigEvents, SweepRigHead } from './rigHead.ts';
import { sharedStyles } from './sharedStyles.ts';

const LEAD_CONTROLS = [
  ['leads.lengthM', 'Lead length'],
  ['leads.loopM2PerM', 'Loop per metre'],
  ['leads.shieldFactor', 'Through the shield'],
] as const;
const ROOM_CONTROLS = [
  ['room.bodyCurrentUa', 'Current into the body'],
  ['room.leadCurrentNaPerM', 'Current into a metre of lead'],
  ['room.fieldUt', 'Magnetic field'],
] as const;

/** Electrodes, leads and room: a head to look at, what the meter says, and where the hum comes in. */
@customElement('sweep-rig')
export class SweepRig extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    css`
      .body { display: grid; gap: 0.8rem 1.4rem; grid-template-columns: minmax(0, 1fr); }
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.8rem; align-items: baseline; }
      .tilt { width: 4.6rem; height: 1.6rem; vertical-align: middle; }
      .tilt line { stroke: var(--ink); stroke-width: 2.5; stroke-linecap: round; }
      .tilt path { fill: var(--ink-soft); }
      .bar { display: block; height: 0.45rem; background: var(--flag); min-width: 1px; }
      td { white-space: nowrap; }
      td.strip { width: 34%; vertical-align: middle; }
      .row { display: flex; flex-wrap: wrap; gap: 0.3rem 0.5rem; align-items: center; margin: 0.3rem 0; }
      .row label { display: flex; gap: 0.35rem; align-items: center; font-size: 0.92rem; }
      .chips button { border-radius: 1rem; min-height: 1.7rem; padding: 0.05rem 0.6rem; font-size: 0.9rem; }
      h3 { margin-top: 0.4rem; }
      .total th, .total td { border-top: 1px solid var(--ink); font-weight: 600; }
      p { margin: 0.2rem 0; font-size: 0.9rem; }
      @media (min-width: 60rem) { .body { grid-template-columns: minmax(0, 1fr) minmax(0, 1.1fr); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private chosen: ElectrodeName = 'ipsilateral';
  @state() private preview: RigSettings = {};
  @state() private said = '';
  @state() private moves: readonly RigSettings[] = [];
  private movedPatient = '';

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings', 'run']);
  }

  override render() {
    const { bench } = this;
    const { now } = this;
    const changed = now !== bench.scenario;
    const seen = tried(now, this.preview);
    return html`
      <section aria-label="Electrodes and leads">
        <div class="head"><h2>Electrodes and leads</h2>
          <span class="soft">${changed ? 'as they are now, after what was done; settings below are those of second 0' : 'as they are from second 0'}</span></div>
        <div class="body">
          <div>
            <sweep-rig-head .scenario=${now} .chosen=${this.chosen} .isFree=${(path: string) => bench.isFree(path)}
              @rig-preview=${(event: RigEvents['rig-preview']) => this.look(event)}
              @rig-set=${(event: RigEvents['rig-set']) => this.setRig(event.detail.settings)}
              @rig-choose=${(event: RigEvents['rig-choose']) => this.choose(event.detail.electrode)}></sweep-rig-head>
            <div class="row"><p role="status">${this.said}</p>
              ${this.moves.length > 0 && this.movedPatient === this.patient ? html`<button id="undo" @click=${this.undo}>Undo the last move</button>` : nothing}</div>
            <p class="soft">Drag an electrode to another place, or off the head; the box for longer leads; the first stage between head and box; the red grip to spread
              or bunch the leads. Or Tab to it and use the arrows: on an electrode ← → place, ↑ ↓ contact, Delete takes it off, Enter chooses it. The shaded loop catches the magnetic field.</p>
            <sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables></div>
          <div>
            ${this.pickupTable(seen)}
            ${this.contactTable(seen)}
            <h3>${electrodeWords[this.chosen]}</h3>
            ${this.quantity(`electrodes.${this.chosen}.contactFactor`, 'Contact, 1 is well prepared')}
            <h3>Leads and supply</h3>
            <div class="row">
              <label><input id="preamp" type="checkbox" .checked=${bench.scenario.leads.preampAtElectrode} ?disabled=${!bench.isFree('leads.preampAtElectrode')}
                @change=${(event: Event) => bench.set('leads.preampAtElectrode', (event.target as HTMLInputElement).checked)} /> first stage at the head</label>
              <label>Fed from <select id="supply" ?disabled=${!bench.isFree('amplifier.supply')} @change=${(event: Event) => bench.set('amplifier.supply', (event.target as HTMLSelectElement).value)}>
                ${['battery', 'mains'].map((supply) => html`<option ?selected=${supply === bench.scenario.amplifier.supply}>${supply}</option>`)}</select></label>
            </div>
            ${LEAD_CONTROLS.map(([path, label]) => this.quantity(path, label))}
            <h3>Room</h3>
            <div class="row chips" role="group" aria-label="Rooms">${rooms.map(
              ({ label, set }) =>
                html`<button ?disabled=${bench.freePaths !== null} @click=${() => bench.setAll(set)}>${label}</button>`,
            )}</div>
            ${ROOM_CONTROLS.map(([path, label]) => this.quantity(path, label))}
          </div>
        </div>
      </section>
    `;
  }

  tables() {
    return rigTables(this.now);
  }

  drawings(): SVGSVGElement[] {
    const head = this.renderRoot.querySelector<SweepRigHead>('sweep-rig-head')?.renderRoot.querySelector('svg');
    return head ? [head] : [];
  }

  /** Whose electrodes these are: another patient's are not brought back by undoing. */
  private get patient(): string {
    const { scenario, seed } = this.bench;
    return `${scenario.id}/${seed}`;
  }

  /** What holds at this moment of the run. */
  private get now(): Scenario {
    return scenarioAt(this.bench.scenario, this.bench.record.seconds);
  }

  private look({ detail }: RigEvents['rig-preview']): void {
    this.preview = detail.settings;
  }

  private choose(electrode: ElectrodeName): void {
    this.chosen = electrode;
  }

  private pickupTable(now: Scenario) {
    const paths = pickupByPath(now);
    const channel = channelOf(now);
    const largest = Math.max(1e-9, ...paths.map((path) => path.totalUv[channel]));
    const total = totalUv(now);
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Pickup by path"><table>
      <caption class="unseen">Pickup from the supply by entry path, µV peak, in the channel that races</caption>
      <thead><tr><th scope="col">Where the hum comes in</th><th scope="col">peak</th><th><span class="unseen">Share</span></th></tr></thead>
      <tbody>${paths.map((path) => {
        const uv = path.totalUv[channel];
        return html`<tr><th scope="row">${path.label}</th><td>${voltageText(uv)}</td>
          <td class="strip"><span class="bar" style=${`width: ${((100 * uv) / largest).toFixed(1)}%`}></span></td></tr>`;
      })}
      <tr class="total"><th scope="row">Together, phases apart</th><td>${voltageText(total)}</td><td></td></tr></tbody></table></div>
      ${total === 0 ? html`<p class="soft">Nothing comes in: choose a room. The pickup of known size under Settings, Mains, comes on top.</p>` : nothing}`;
  }

  private contactTable(now: Scenario) {
    const { plus, minus } = contactPair(now);
    const imbalance = Math.abs(plus - minus);
    const degrees = Number.isFinite(imbalance)
      ? Math.max(-20, Math.min(20, 4 * (plus - minus)))
      : plus > minus
        ? 20
        : -20;
    return html`<p class="number">${svg`<svg class="tilt" viewBox="-40 -14 80 28" aria-hidden="true">
        <path d="M 0 0 L -6 12 L 6 12 Z" /><line x1="-34" x2="34" y1="0" y2="0" transform=${`rotate(${-degrees})`} /></svg>`}
      Imbalance of the pair that races: <strong>${imbalanceText(now)}</strong>${
        imbalance > 2
          ? html`, <span class="problem">above 2 kΩ: hum of body and leads comes in through it.</span>`
          : '.'
      }</p>`;
  }

  private quantity(path: string, label: string) {
    const { bench } = this;
    const control = controlAt(path, label) as Control & { kind: 'number' };
    return html`<sweep-quantity .control=${control} .value=${bench.valueAt(path) as number} ?locked=${!bench.isFree(path)}
      @quantity-set=${(event: CustomEvent<{ value: number }>) => bench.set(path, Number.isNaN(event.detail.value) ? null : event.detail.value)}></sweep-quantity>`;
  }

  /** Puts what a drag or a key has made on the bench, keeps the way back, and reads the numbers out. */
  private setRig(settings: RigSettings): void {
    const { bench } = this;
    const before = Object.fromEntries(Object.keys(settings).map((path) => [path, bench.valueAt(path)]));
    if (JSON.stringify(before) === JSON.stringify(settings)) return;
    const humBefore = totalUv(this.now);
    bench.setAll(settings);
    if (bench.problem === null) this.moves = [...(this.movedPatient === this.patient ? this.moves : []), before];
    this.movedPatient = this.patient;
    this.said = bench.problem ?? this.told(settings, humBefore);
  }

  private undo(): void {
    const last = this.moves[this.moves.length - 1];
    if (!last) return;
    const humBefore = totalUv(this.now);
    this.moves = this.moves.slice(0, -1);
    this.bench.setAll(last);
    this.said = this.told(last, humBefore);
  }

  private told(settings: RigSettings, humBeforeUv: number): string {
    const words = Object.entries(settings)
      .map(([path, value]) => moveWords(path, value))
      .filter((text) => text !== '');
    return `${words.join(', ')}. Hum ${voltageText(totalUv(this.now))}, was ${voltageText(humBeforeUv)}; imbalance ${imbalanceText(this.now)}.`;
  }
}

/** Hum in the channel that races, µV peak: the paths together, phases apart. */
function totalUv(now: Scenario): number {
  const channel = channelOf(now);
  return Math.sqrt(pickupByPath(now).reduce((sum, path) => sum + path.totalUv[channel] ** 2, 0));
}

function channelOf({ averaging }: Scenario): number {
  return averaging.channel === 'ipsilateral' ? 0 : 1;
}

/** Contact of the shared electrode and of its partner in the channel that races, kΩ. */
function contactPair(now: Scenario): { plus: number; minus: number } {
  const contacts = testContacts(now);
  const kohm = (name: ElectrodeName) => contacts.find(({ electrode }) => electrode === name)?.testedKohm ?? NaN;
  return { plus: kohm('common'), minus: kohm(channelOf(now) === 0 ? 'ipsilateral' : 'contralateral') };
}

function imbalanceText(now: Scenario): string {
  const { plus, minus } = contactPair(now);
  const imbalance = Math.abs(plus - minus);
  return Number.isFinite(imbalance) ? `${decimalText(imbalance, 1)} kΩ` : 'open';
}

/** What a setting has become, in words; nothing for one that follows from another. */
function moveWords(path: string, value: unknown): string {
  const electrode = electrodeNames.find((name) => path.startsWith(`electrodes.${name}.`));
  if (path === 'leads.lengthM') return `Leads ${value} m`;
  if (path === 'leads.loopM2PerM') return `Loop ${value} m² per metre`;
  if (path === 'leads.preampAtElectrode') return value ? 'First stage at the head' : 'First stage in the box';
  if (path === 'montage.site') return `Electrodes at ${siteWords[value as keyof typeof siteWords]}`;
  if (!electrode) return '';
  if (path.endsWith('.contactFactor')) return `${electrodeWords[electrode]}: contact ${value}`;
  if (path.endsWith('.open') && value) return `${electrodeWords[electrode]} is off`;
  return '';
}
