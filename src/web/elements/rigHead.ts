import { css, html, LitElement, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { type ElectrodeName, electrodeNames, testContacts } from '../../core/chain/contact.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { decimalText, tickText } from '../model/numberText.ts';
import {
  boxPlace,
  dropped,
  electrodePlaces,
  electrodeWords,
  LENGTH_RANGE,
  LOOP_RANGE,
  lengthOf,
  loopBulge,
  loopOf,
  moveTo,
  type Place,
  placesFor,
  type RigSettings,
  siteWords,
  tried,
  within,
} from '../model/rigPicture.ts';
import { sharedStyles } from './sharedStyles.ts';

// Over 300 lines: pointer, keys and drawing share what is held, and where it may be let go.

/** What a hand can take hold of. */
type Grip = ElectrodeName | 'loop' | 'box' | 'stage';

/** What is held, where the pointer has it, and the settings that letting go would make. */
interface Hold {
  grip: Grip;
  at: Place;
  settings: RigSettings;
}

/** What `sweep-rig-head` tells. */
export interface RigEvents {
  /** Settings as they would be if the hand let go now; empty when nothing is held. */
  'rig-preview': CustomEvent<{ settings: RigSettings }>;
  /** Settings that a drag or a key has made. */
  'rig-set': CustomEvent<{ settings: RigSettings }>;
  'rig-choose': CustomEvent<{ electrode: ElectrodeName }>;
}

const STEP = 1.25; // × per key: three steps double

/**
 * The head with electrodes, leads, first stage and box: each can be dragged, and moved by keys.
 *
 * It tells what would be set while something is held, and what is set once it is let go; it changes nothing itself.
 */
@customElement('sweep-rig-head')
export class SweepRigHead extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      svg { width: 100%; max-height: max(20rem, calc(100vh - 25rem - var(--strip, 0rem))); display: block; }
      .skin { fill: var(--card); stroke: var(--ink); stroke-width: 1.6; }
      .lead { fill: none; stroke: var(--ink); stroke-width: 1.6; }
      .shielded { stroke-width: 3.2; stroke-dasharray: 5 2; }
      .cable { stroke-width: 4; }
      .loop { fill: var(--flag); opacity: 0.2; }
      .box { fill: var(--press); stroke: var(--ink); stroke-width: 1.4; }
      text { font-size: 11px; fill: var(--ink); font-variant-numeric: tabular-nums; }
      text { paint-order: stroke; stroke: var(--card); stroke-width: 3px; stroke-linejoin: round; }
      .soft { fill: var(--ink-soft); }
      @media (max-width: 40rem) { text { font-size: 14px; } }
      .spot { fill: none; stroke: var(--ink-faint); stroke-width: 1.4; stroke-dasharray: 3 2; }
      .contact { fill: var(--paper); stroke: var(--ink); stroke-width: 2; }
      .open { stroke: var(--flag); stroke-dasharray: 2 2; }
      [aria-pressed='true'] .contact { fill: var(--truth); }
      .grip { fill: var(--flag); stroke: var(--paper); stroke-width: 1.5; }
      g[tabindex] { cursor: grab; touch-action: none; }
      g[tabindex]:active { cursor: grabbing; }
      g[tabindex]:focus { outline: none; }
      g[tabindex]:focus-visible { outline: 2px solid var(--ink); outline-offset: 3px; }
      .locked g[tabindex] { cursor: not-allowed; }
    `,
  ];

  /** What holds now, without what is held. */
  @property({ attribute: false }) scenario!: Scenario;
  @property({ attribute: false }) chosen: ElectrodeName = 'ipsilateral';
  /** Says whether these paths may be changed. */
  @property({ attribute: false }) isFree: (path: string) => boolean = () => true;
  @state() private hold: Hold | null = null;

  override render() {
    const now = this.hold ? tried(this.scenario, this.hold.settings) : this.scenario;
    const { preampAtElectrode, shieldFactor, loopM2PerM, lengthM } = now.leads;
    const places = electrodePlaces(now);
    for (const name of electrodeNames) if (this.hold?.grip === name) places[name] = this.hold.at;
    const box = boxPlace(lengthM);
    const nearHead = { x: places.ipsilateral.x + 30, y: places.ipsilateral.y + 14 };
    const stage =
      this.hold?.grip === 'stage' ? this.hold.at : preampAtElectrode ? nearHead : { x: box.x + 4, y: box.y - 46 };
    // Behind a first stage at the head the wires are short, and what the cable catches no longer counts.
    const end = preampAtElectrode ? { x: nearHead.x, y: nearHead.y + 9 } : box;
    const bulge = loopBulge(loopM2PerM) * (preampAtElectrode ? 0.25 : 1);
    const area = loopM2PerM * lengthM * (preampAtElectrode ? 0.05 : 1);
    const between = { x: (places.ipsilateral.x + end.x) / 2, y: (places.ipsilateral.y + end.y) / 2 + 0.75 * bulge };
    const leadClass = shieldFactor < 0.5 ? 'lead shielded' : 'lead';
    const anyFree = this.isFree('leads.loopM2PerM') || this.isFree('leads.lengthM');
    return html`<svg viewBox="0 0 470 330" data-tables="pickup contacts" class=${anyFree ? '' : 'locked'} role="group" aria-label=${this.sentence(now)}>${svg`
      <path class="skin" d="M 150 40 C 90 40 58 92 60 148 C 60 170 44 190 42 202 C 42 210 54 210 58 214 C 60 226 56 250 70 258 C 84 264 104 258 112 264 L 116 300 L 200 300 C 196 270 204 246 222 226 C 244 200 248 168 244 136 C 238 78 204 40 150 40 Z" />
      <path class="skin" d="M 176 150 C 190 142 200 154 196 168 C 192 184 178 190 174 178 C 172 168 182 166 178 158" />
      ${this.spots(now)}
      <path class="loop" d=${`${strand(places.common, end, -bulge, -4)} L ${end.x} ${end.y + 4} ${strand(places.ipsilateral, end, bulge, 4, true)} Z`} />
      <path class=${leadClass} d=${strand(places.common, end, -bulge, -4)} />
      <path class=${leadClass} d=${strand(places.ipsilateral, end, bulge, 4)} />
      <path class="lead" d=${strand(places.ground, end, -0.4 * bulge, 0)} opacity="0.55" />
      ${preampAtElectrode ? svg`<path class="lead cable" d=${`M ${end.x + 22} ${end.y + 4} C ${end.x + 60} ${end.y + 30}, ${box.x - 50} ${box.y}, ${box.x - 4} ${box.y}`} />` : null}
      ${this.slider(
        'box',
        'Length of the leads',
        LENGTH_RANGE,
        lengthM,
        `${tickText(lengthM)} m`,
        svg`<rect class="box" x=${box.x - 4} y=${box.y - 24} width="62" height="48" rx="4" />
        <text x=${box.x + 27} y=${box.y + 1} text-anchor="middle">box</text>
        <text class="soft" x=${box.x + 27} y=${box.y + 15} text-anchor="middle">${tickText(lengthM)} m</text>`,
      )}
      ${this.slider(
        'stage',
        'Place of the first stage',
        [0, 1],
        preampAtElectrode ? 1 : 0,
        preampAtElectrode ? 'at the head' : 'in the box',
        svg`<rect class="box" x=${stage.x} y=${stage.y} width="52" height="18" rx="3" />
        <text x=${stage.x + 26} y=${stage.y + 13} text-anchor="middle">× gain</text>`,
      )}
      <text class="soft" x=${Math.max(box.x + 58, 380)} y=${box.y + 40} text-anchor="end">${tickText(Number(area.toPrecision(2)))} m² of loop</text>
      ${electrodeNames.map((name) => this.electrode(name, places[name], now))}
      ${this.slider(
        'loop',
        'Loop between the leads',
        LOOP_RANGE,
        loopM2PerM,
        `${loopM2PerM} m² per metre`,
        svg`<circle class="grip" cx=${between.x} cy=${between.y} r="7" />`,
      )}`}
    </svg>`;
  }

  /** Places where the electrode in the hand, or the one chosen, may go. */
  private spots(now: Scenario) {
    if (!this.isFree('montage.site')) return null;
    return placesFor(this.held ?? this.chosen, now).map(
      ({ site, at }) => svg`<circle class="spot" cx=${at.x} cy=${at.y} r="11" />
        ${this.held ? svg`<text class="soft" x=${at.x - 14} y=${at.y + 4} text-anchor="end">${siteWords[site]}</text>` : null}`,
    );
  }

  private get held(): ElectrodeName | null {
    const { hold } = this;
    return electrodeNames.find((name) => name === hold?.grip) ?? null;
  }

  private slider(
    grip: Grip,
    label: string,
    [low, high]: readonly [number, number],
    value: number,
    text: string,
    shape: unknown,
  ) {
    return svg`<g role="slider" tabindex="0" id=${grip} aria-label=${label} aria-valuemin=${low} aria-valuemax=${high} aria-valuenow=${value}
      aria-valuetext=${text} @keydown=${(event: KeyboardEvent) => this.onKey(event, grip)}
      @pointerdown=${(event: PointerEvent) => this.grab(event, grip)}>${shape}</g>`;
  }

  private electrode(name: ElectrodeName, { x, y }: Place, now: Scenario) {
    const kohm = testContacts(now).find(({ electrode }) => electrode === name)?.testedKohm ?? NaN;
    const chosen = this.chosen === name;
    const text = Number.isFinite(kohm) ? `${decimalText(kohm, 1)} kΩ` : 'off';
    const where = name === 'ipsilateral' && Number.isFinite(kohm) ? `, ${siteWords[now.montage.site]}` : '';
    const words = this.hold?.grip === name ? '' : `${electrodeWords[name]} ${text}`;
    const atEdge = x < 60;
    const below = name === 'contralateral';
    return svg`<g role="button" tabindex="0" id=${name} aria-pressed=${chosen} aria-label=${`${electrodeWords[name]} ${text}${where}`}
      @keydown=${(event: KeyboardEvent) => this.onKey(event, name)} @pointerdown=${(event: PointerEvent) => this.grab(event, name)}
      @click=${() => this.choose(name)}>
      <circle class=${Number.isFinite(kohm) ? 'contact' : 'contact open'} cx=${x} cy=${y} r="8" />
      <text x=${x - 12} y=${y + (below ? 20 : atEdge ? -14 : -10)} text-anchor=${atEdge ? 'start' : 'end'}>${words}</text></g>`;
  }

  private sentence(now: Scenario): string {
    const contacts = testContacts(now).map(
      ({ electrode, testedKohm }) =>
        `${electrodeWords[electrode]} ${Number.isFinite(testedKohm) ? `${decimalText(testedKohm, 1)} kΩ` : 'off'}`,
    );
    const { lengthM, loopM2PerM, preampAtElectrode } = now.leads;
    return `Head with electrodes: ${contacts.join(', ')}; test side at ${siteWords[now.montage.site]}. Leads ${lengthM} m, loop ${loopM2PerM} m² per metre; first stage ${preampAtElectrode ? 'at the head' : 'in the box'}.`;
  }

  private choose(electrode: ElectrodeName): void {
    this.tell('rig-choose', { electrode });
  }

  private tell(name: keyof RigEvents, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }

  /** Settings of one key on a grip; null for a key that means nothing there. */
  private keySettings(grip: Grip, key: string): RigSettings | null {
    const { leads, electrodes, montage } = this.scenario;
    const way = { ArrowUp: -1, ArrowLeft: -1, ArrowDown: 1, ArrowRight: 1 }[key];
    if (grip === 'loop') return way ? { 'leads.loopM2PerM': within(LOOP_RANGE, leads.loopM2PerM * STEP ** way) } : null;
    if (grip === 'box') {
      const longer = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[key];
      return longer ? { 'leads.lengthM': within(LENGTH_RANGE, leads.lengthM * STEP ** longer) } : null;
    }
    if (grip === 'stage') {
      if (key === 'Enter' || key === ' ') return { 'leads.preampAtElectrode': !leads.preampAtElectrode };
      return way ? { 'leads.preampAtElectrode': way < 0 } : null;
    }
    if (key === 'Delete') return { [`electrodes.${grip}.open`]: !electrodes[grip].open };
    if (key === 'ArrowUp' || key === 'ArrowDown') {
      const factor = electrodes[grip].contactFactor * STEP ** (key === 'ArrowUp' ? 1 : -1);
      return { [`electrodes.${grip}.contactFactor`]: within([0.2, 100], factor) };
    }
    const places = placesFor(grip, this.scenario);
    if (!way || places.length < 2) return null;
    const at = places.findIndex(({ site }) => site === montage.site);
    return moveTo(places[(at + way + places.length) % places.length].site, this.scenario);
  }

  private onKey(event: KeyboardEvent, grip: Grip): void {
    const electrode = electrodeNames.find((name) => name === grip);
    if (electrode && (event.key === 'Enter' || event.key === ' ')) {
      event.preventDefault();
      event.stopPropagation(); // space would run or pause
      this.choose(electrode);
      return;
    }
    const settings = this.keySettings(grip, event.key);
    if (!settings) return;
    event.preventDefault();
    event.stopPropagation(); // arrows on a grip move it, not the sweep looked at
    if (this.allFree(settings)) this.tell('rig-set', { settings });
  }

  private allFree(settings: RigSettings): boolean {
    return Object.keys(settings).every((path) => this.isFree(path));
  }

  /** Settings that letting go of a grip here would make. */
  private dragSettings(grip: Grip, from: Place, to: Place): RigSettings {
    const { leads } = this.scenario;
    if (grip === 'loop') {
      // The loop hangs by three quarters of its bulge below the middle.
      const bulge = loopBulge(leads.loopM2PerM) + (to.y - from.y) / (0.75 * (leads.preampAtElectrode ? 0.25 : 1));
      return { 'leads.loopM2PerM': loopOf(bulge) };
    }
    if (grip === 'box') return { 'leads.lengthM': lengthOf(boxPlace(leads.lengthM).x + to.x - from.x) };
    if (grip === 'stage') {
      const { ipsilateral } = electrodePlaces(this.scenario);
      return { 'leads.preampAtElectrode': to.x < (ipsilateral.x + 30 + boxPlace(leads.lengthM).x) / 2 };
    }
    return dropped(grip, to, this.scenario);
  }

  private grab(event: PointerEvent, grip: Grip): void {
    const picture = this.renderRoot.querySelector('svg');
    const toDrawing = picture?.getScreenCTM()?.inverse();
    if (!toDrawing || event.button !== 0) return;
    const place = ({ clientX, clientY }: PointerEvent): Place => {
      const { x, y } = new DOMPoint(clientX, clientY).matrixTransform(toDrawing);
      return { x, y };
    };
    event.preventDefault();
    this.renderRoot.querySelector<SVGGElement>(`#${grip}`)?.focus();
    const from = place(event);
    const end = new AbortController();
    const { signal } = end;
    const follow = (move: PointerEvent) => {
      const to = place(move);
      const settings = this.dragSettings(grip, from, to);
      if (!this.allFree(settings)) return;
      const at = grip === 'stage' ? { x: to.x - 26, y: to.y - 9 } : to;
      this.hold = { grip, at, settings };
      this.tell('rig-preview', { settings });
    };
    const release = () => {
      end.abort();
      const settings = this.hold?.settings ?? {};
      this.hold = null;
      this.tell('rig-preview', { settings: {} });
      if (Object.keys(settings).length > 0) this.tell('rig-set', { settings });
    };
    addEventListener('pointermove', follow, { signal });
    addEventListener('pointerup', release, { signal });
    addEventListener(
      'pointercancel',
      () => {
        end.abort();
        this.hold = null;
        this.tell('rig-preview', { settings: {} });
      },
      { signal },
    );
  }
}

/** One lead from an electrode to its end, hanging by `bulge`; backwards and without a start to close a loop. */
function strand({ x, y }: Place, end: Place, bulge: number, offset: number, back = false): string {
  const span = (end.x - x) * 0.4;
  const near = `${x + span} ${y + bulge}`;
  const far = `${end.x - span} ${end.y + bulge}`;
  return back ? `C ${far}, ${near}, ${x} ${y}` : `M ${x} ${y} C ${near}, ${far}, ${end.x} ${end.y + offset}`;
}
