import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { type ElectrodeName, electrodeNames, testContacts } from '../../core/chain/contact.ts';
import { pickupByPath } from '../../core/noise/pickupPaths.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { Bench } from '../model/bench.ts';
import { type Control, controlAt } from '../model/controls.ts';
import { scenarioAt } from '../model/handsOn.ts';
import { decimalText, tickText, voltageText } from '../model/numberText.ts';
import { electrodePlaces, electrodeWords, LOOP_RANGE, loopBulge, rooms } from '../model/rigPicture.ts';
import { BenchController } from './benchController.ts';
import './quantity.ts';
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
export class SweepRig extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .body { display: grid; gap: 0.8rem 1.4rem; grid-template-columns: minmax(0, 1fr); }
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.8rem; align-items: baseline; }
      svg.rig { width: 100%; max-height: max(20rem, calc(100vh - 25rem - var(--strip, 0rem))); display: block; }
      .rig .skin { fill: var(--card); stroke: var(--ink); stroke-width: 1.6; }
      .rig .lead { fill: none; stroke: var(--ink); stroke-width: 1.6; }
      .rig .shielded { stroke-width: 3.2; stroke-dasharray: 5 2; }
      .rig .loop { fill: var(--flag); opacity: 0.16; }
      .rig .box { fill: var(--press); stroke: var(--ink); stroke-width: 1.4; }
      .rig text { font-size: 11px; fill: var(--ink); font-variant-numeric: tabular-nums; }
      .rig .soft { fill: var(--ink-soft); }
      .rig .contact { fill: var(--paper); stroke: var(--ink); stroke-width: 2; cursor: pointer; }
      .rig .open { stroke: var(--flag); stroke-dasharray: 2 2; }
      .rig [aria-pressed='true'] .contact { fill: var(--truth); }
      .rig .grip { fill: var(--flag); stroke: var(--paper); stroke-width: 1.5; cursor: ns-resize; }
      .rig g:focus-visible { outline: 2px solid var(--ink); outline-offset: 3px; }
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

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings', 'run']);
  }

  override render() {
    const { bench } = this;
    const now = scenarioAt(bench.scenario, bench.record.seconds);
    const changed = now !== bench.scenario;
    return html`
      <section aria-label="Electrodes and leads">
        <div class="head"><h2>Electrodes and leads</h2>
          <span class="soft">${changed ? 'as they are now, after what was done; settings below are those of second 0' : 'as they are from second 0'}</span></div>
        <div class="body">
          <div>${this.picture(now)}
            <p class="soft">Choose an electrode to prepare it. Drag the red grip, or move it with ↑ ↓, to spread or bunch the leads; the shaded loop catches the magnetic field.</p></div>
          <div>
            ${this.pickupTable(now)}
            ${this.contactTable(now)}
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

  private picture(now: Scenario) {
    const places = electrodePlaces(now.montage.site);
    const bulge = loopBulge(now.leads.loopM2PerM);
    const box = { x: 330, y: 250 };
    const lead = ({ x, y }: { x: number; y: number }, side: number) =>
      `M ${x} ${y} C ${x + 60} ${y + side * bulge}, ${box.x - 60} ${box.y + side * bulge}, ${box.x} ${box.y + 8 * side}`;
    const [common, active] = [places.common, places.ipsilateral];
    const loop = `${lead(common, -1)} L ${box.x} ${box.y + 8} C ${box.x - 60} ${box.y + bulge}, ${active.x + 60} ${active.y + bulge}, ${active.x} ${active.y} Z`;
    const { preampAtElectrode, shieldFactor, loopM2PerM, lengthM } = now.leads;
    const stage = preampAtElectrode ? { x: active.x + 26, y: active.y + 22 } : { x: box.x - 8, y: box.y - 46 };
    const leadClass = shieldFactor < 0.5 ? 'lead shielded' : 'lead';
    const grip = { x: (active.x + box.x) / 2, y: (active.y + box.y) / 2 + 0.75 * bulge };
    return svg`<svg class="rig" viewBox="0 0 400 330" role="group" aria-label=${this.sentence(now)}>
      <path class="skin" d="M 150 40 C 90 40 58 92 60 148 C 60 170 44 190 42 202 C 42 210 54 210 58 214 C 60 226 56 250 70 258 C 84 264 104 258 112 264 L 116 300 L 200 300 C 196 270 204 246 222 226 C 244 200 248 168 244 136 C 238 78 204 40 150 40 Z" />
      <path class="skin" d="M 176 150 C 190 142 200 154 196 168 C 192 184 178 190 174 178 C 172 168 182 166 178 158" />
      <path class="loop" d=${loop} />
      <path class=${leadClass} d=${lead(common, -1)} />
      <path class=${leadClass} d=${lead(active, 1)} />
      <path class="lead" d=${lead(places.ground, -0.4)} opacity="0.55" />
      <rect class="box" x=${box.x - 4} y=${box.y - 24} width="62" height="48" rx="4" />
      <text x=${box.x + 27} y=${box.y + 4} text-anchor="middle">box</text>
      <rect class="box" x=${stage.x} y=${stage.y} width="52" height="18" rx="3" />
      <text x=${stage.x + 26} y=${stage.y + 13} text-anchor="middle">× gain</text>
      <text class="soft" x=${box.x + 58} y=${box.y + 40} text-anchor="end">${tickText(Number((loopM2PerM * lengthM).toPrecision(2)))} m² of loop</text>
      ${electrodeNames.map((name) => this.electrode(name, places[name], now))}
      <g role="slider" tabindex="0" aria-label="Loop between the leads" aria-valuemin=${LOOP_RANGE[0]} aria-valuemax=${LOOP_RANGE[1]}
        aria-valuenow=${loopM2PerM} aria-valuetext=${`${loopM2PerM} m² per metre`} @keydown=${this.onGripKey} @pointerdown=${this.grab}>
        <circle class="grip" cx=${grip.x} cy=${grip.y} r="7" /></g>
    </svg>`;
  }

  private electrode(name: ElectrodeName, { x, y }: { x: number; y: number }, now: Scenario) {
    const contact = testContacts(now).find(({ electrode }) => electrode === name);
    const kohm = contact?.testedKohm ?? NaN;
    const chosen = this.chosen === name;
    const text = Number.isFinite(kohm) ? `${decimalText(kohm, 1)} kΩ` : 'open';
    return svg`<g role="button" tabindex="0" aria-pressed=${chosen} aria-label=${`${electrodeWords[name]}, ${text}`}
      @click=${() => this.choose(name)} @keydown=${(event: KeyboardEvent) => this.onElectrodeKey(event, name)}>
      <circle class=${Number.isFinite(kohm) ? 'contact' : 'contact open'} cx=${x} cy=${y} r="8" />
      <text x=${x - 12} y=${y - 10} text-anchor="end">${electrodeWords[name]} ${text}</text></g>`;
  }

  private pickupTable(now: Scenario) {
    const paths = pickupByPath(now);
    const channel = now.averaging.channel === 'ipsilateral' ? 0 : 1;
    const largest = Math.max(1e-9, ...paths.map(({ totalUv }) => totalUv[channel]));
    const total = Math.sqrt(paths.reduce((sum, { totalUv }) => sum + totalUv[channel] ** 2, 0));
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Pickup by path"><table>
      <caption class="unseen">Pickup from the supply by entry path, µV peak, in the channel that races</caption>
      <thead><tr><th scope="col">Where the hum comes in</th><th scope="col">peak</th><th><span class="unseen">Share</span></th></tr></thead>
      <tbody>${paths.map(
        ({ label, totalUv }) => html`<tr><th scope="row">${label}</th><td>${voltageText(totalUv[channel])}</td>
          <td class="strip"><span class="bar" style=${`width: ${((100 * totalUv[channel]) / largest).toFixed(1)}%`}></span></td></tr>`,
      )}
      <tr class="total"><th scope="row">Together, phases apart</th><td>${voltageText(total)}</td><td></td></tr></tbody></table></div>
      ${total === 0 ? html`<p class="soft">Nothing comes in: choose a room. The pickup of known size under Settings, Mains, comes on top.</p>` : nothing}`;
  }

  private contactTable(now: Scenario) {
    const contacts = testContacts(now);
    const kohm = (name: ElectrodeName) => contacts.find(({ electrode }) => electrode === name)?.testedKohm ?? NaN;
    const imbalance = Math.abs(
      kohm('common') - kohm(now.averaging.channel === 'ipsilateral' ? 'ipsilateral' : 'contralateral'),
    );
    return html`<p class="number">Imbalance of the pair that races: <strong>${Number.isFinite(imbalance) ? `${decimalText(imbalance, 1)} kΩ` : 'open'}</strong>${
      imbalance > 2 ? html`, <span class="problem">above 2 kΩ: hum of body and leads comes in through it.</span>` : '.'
    }</p>`;
  }

  private quantity(path: string, label: string) {
    const { bench } = this;
    const control = controlAt(path, label) as Control & { kind: 'number' };
    return html`<sweep-quantity .control=${control} .value=${bench.valueAt(path) as number} ?locked=${!bench.isFree(path)}
      @quantity-set=${(event: CustomEvent<{ value: number }>) => bench.set(path, Number.isNaN(event.detail.value) ? null : event.detail.value)}></sweep-quantity>`;
  }

  private sentence(now: Scenario): string {
    const contacts = testContacts(now).map(
      ({ electrode, testedKohm }) =>
        `${electrodeWords[electrode]} ${Number.isFinite(testedKohm) ? `${decimalText(testedKohm, 1)} kΩ` : 'open'}`,
    );
    const { lengthM, loopM2PerM, preampAtElectrode } = now.leads;
    return `Head with electrodes: ${contacts.join(', ')}. Leads ${lengthM} m, loop ${loopM2PerM} m² per metre; first stage ${preampAtElectrode ? 'at the head' : 'in the box'}.`;
  }

  private choose(name: ElectrodeName): void {
    this.chosen = name;
  }

  private onElectrodeKey(event: KeyboardEvent, name: ElectrodeName): void {
    if (event.key !== 'Enter' && event.key !== ' ') return;
    event.preventDefault();
    event.stopPropagation(); // space would run or pause
    this.choose(name);
  }

  private onGripKey(event: KeyboardEvent): void {
    const factor = { ArrowUp: 1 / 1.25, ArrowDown: 1.25, ArrowLeft: 1 / 1.25, ArrowRight: 1.25 }[event.key];
    if (factor === undefined) return;
    event.preventDefault();
    event.stopPropagation(); // arrows on the grip move the leads, not the sweep looked at
    this.setLoop(this.bench.scenario.leads.loopM2PerM * factor);
  }

  private grab(event: PointerEvent): void {
    const picture = this.renderRoot.querySelector('svg.rig');
    if (!picture || !this.bench.isFree('leads.loopM2PerM')) return;
    event.preventDefault();
    const perPx = 330 / picture.clientHeight;
    const startBulge = loopBulge(this.bench.scenario.leads.loopM2PerM);
    const end = new AbortController();
    const { signal } = end;
    let bulge = startBulge;
    addEventListener(
      'pointermove',
      (move) => {
        bulge = startBulge + (move.clientY - event.clientY) * perPx * 1.33;
      },
      { signal },
    );
    addEventListener(
      'pointerup',
      () => {
        end.abort();
        this.setLoop((Math.max(0, bulge) / 110) ** 2 * LOOP_RANGE[1]);
      },
      { signal },
    );
  }

  private setLoop(loopM2PerM: number): void {
    const within = Math.min(LOOP_RANGE[1], Math.max(LOOP_RANGE[0], loopM2PerM));
    this.bench.set('leads.loopM2PerM', Number(within.toPrecision(2)));
  }
}
