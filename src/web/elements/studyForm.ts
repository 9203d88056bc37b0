import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { averagingStrategies, averagingStrategy } from '../../core/averaging/index.ts';
import { presetGroups } from '../../core/scenario/presets.ts';
import { studyMeasures } from '../../study/measures.ts';
import type { Bench } from '../model/bench.ts';
import { controlGroups, tunableLabel } from '../model/controls.ts';
import { ON_BENCH, type StudyForm } from '../model/studyForm.ts';
import { sharedStyles } from './sharedStyles.ts';

/**
 * The form of a study: patients, what is varied, strategies with lists of their tunables, how many patients, measures.
 *
 * It changes the form that it is given and tells each change as `study-form`; what cannot be is refused by the view.
 */
@customElement('sweep-study-form')
export class SweepStudyForm extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      fieldset { border: none; border-top: 1px solid var(--rule); margin: 0 0 0.5rem; padding: 0.3rem 0 0; min-width: 0; }
      legend { font: italic 400 1rem/1.2 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; padding: 0 0.5rem 0 0; }
      label { display: grid; gap: 0.1rem; font-size: 0.9rem; min-width: 0; }
      .line { display: flex; flex-wrap: wrap; gap: 0.3rem 0.5rem; align-items: end; padding: 0.15rem 0; }
      .line > label { flex: 1 1 9rem; }
      .line > .short { flex: 0 1 7rem; }
      .switch { display: flex; flex: 0 0 auto !important; gap: 0.4rem; align-items: center; min-height: 1.9rem; }
      input[type='checkbox'] { width: 1.05rem; height: 1.05rem; accent-color: var(--ink); }
      input[type='text'], select { width: 100%; min-width: 0; }
      .strategy { border-left: 2px solid var(--rule); padding: 0.1rem 0 0.2rem 0.6rem; margin: 0.3rem 0; }
      .note { font-size: 0.84rem; color: var(--ink-soft); }
    `,
  ];

  @property({ attribute: false }) form!: StudyForm;
  @property({ attribute: false }) bench!: Bench;
  @property({ type: Boolean }) locked = false;

  override render() {
    const { form } = this;
    return html`
      <fieldset ?disabled=${this.locked}><legend>Question</legend>
        <label><span class="unseen">Question</span>
          <input id="question" type="text" maxlength="400" .value=${form.question} @change=${this.text((value) => {
            form.question = value;
          })} /></label>
      </fieldset>
      <fieldset ?disabled=${this.locked}><legend>Patients</legend>
        ${form.patients.map((_, k) => this.patient(k))}
        <div class="line">
          <button @click=${() =>
            this.change(() => {
              form.patients.push({ scenario: 'quiet-sleeper', sealed: false });
            })}>Another patient</button>
          ${this.field('Session, s (empty: as it is)', 'duration', form.durationS, (value) => {
            form.durationS = value;
          })}
          ${this.field('Seed', 'seed', form.seed, (value) => {
            form.seed = value;
          })}
        </div>
        <div class="line">
          <label>Vary a key of all of them
            <input id="varyKey" type="text" list="keys" placeholder="muscle.durationS" .value=${form.varyKey} @change=${this.text(
              (value) => {
                form.varyKey = value;
              },
            )} />
            <datalist id="keys">${controlGroups.flatMap(({ entries }) => entries.map(([path, label]) => html`<option value=${path}>${label}</option>`))}</datalist></label>
          <label>over these values
            <input id="varyValues" type="text" placeholder="0.2, 0.8, 3.2" .value=${form.varyValues} @change=${this.text(
              (value) => {
                form.varyValues = value;
              },
            )} /></label>
        </div>
        <p class="note">A sealed patient takes no part in the choice: the best setting is tried there at the end.</p>
      </fieldset>
      <fieldset ?disabled=${this.locked}><legend>Strategies</legend>
        <p class="note">Numbers with commas between them are run one by one, all combinations; an empty field is the usual value. The first setting is the one that others are compared with.</p>
        ${form.strategies.map((_, k) => this.strategy(k))}
        <label class="line"><span class="unseen">Another strategy</span>
          <select id="add" @change=${this.addStrategy}>
            <option value="">Add a strategy …</option>
            ${averagingStrategies.map(({ id, label }) => html`<option value=${id}>${label}</option>`)}
          </select></label>
      </fieldset>
      <fieldset ?disabled=${this.locked}><legend>How many, and what is measured</legend>
        <div class="line">
          ${this.field(
            form.toPrecision ? 'Patients of each kind, at least' : 'Patients of each kind',
            'replicates',
            form.replicates,
            (value) => {
              form.replicates = value;
            },
          )}
          <label class="switch"><input id="toPrecision" type="checkbox" .checked=${form.toPrecision} @change=${(
            event: Event,
          ) =>
            this.change(() => {
              form.toPrecision = (event.target as HTMLInputElement).checked;
            })} />until the interval is narrow</label>
          ${
            form.toPrecision
              ? html`${this.field('Half-width, %', 'halfWidth', form.halfWidthPercent, (value) => {
                  form.halfWidthPercent = value;
                })}
                ${this.field('Patients, at most', 'most', form.mostReplicates, (value) => {
                  form.mostReplicates = value;
                })}`
              : nothing
          }
        </div>
        <div class="line" role="group" aria-label="Measures">${studyMeasures.map(
          ({
            id,
            label,
          }) => html`<label class="switch"><input type="checkbox" value=${id} .checked=${form.measures.includes(id)}
            @change=${(event: Event) => this.measure(id, (event.target as HTMLInputElement).checked)} />${label}</label>`,
        )}</div>
      </fieldset>
    `;
  }

  private patient(k: number) {
    const { form } = this;
    const line = form.patients[k];
    return html`<div class="line">
      <label><span class="unseen">Patient ${k + 1}</span>
        <select @change=${(event: Event) =>
          this.change(() => {
            line.scenario = (event.target as HTMLSelectElement).value;
          })}>
          <option value=${ON_BENCH} ?selected=${line.scenario === ON_BENCH}>On the bench now: ${this.bench.scenario.title || this.bench.scenario.id}</option>
          ${presetGroups.map(
            ({ title, presets }) =>
              html`<optgroup label=${title}>${presets.map(
                (entry) =>
                  html`<option value=${entry.id} ?selected=${line.scenario === entry.id}>${entry.title}</option>`,
              )}</optgroup>`,
          )}
        </select></label>
      <label class="switch"><input type="checkbox" .checked=${line.sealed} aria-label=${`Patient ${k + 1} is sealed`} @change=${(
        event: Event,
      ) =>
        this.change(() => {
          line.sealed = (event.target as HTMLInputElement).checked;
        })} />sealed</label>
      <button ?disabled=${form.patients.length === 1} @click=${() =>
        this.change(() => {
          form.patients.splice(k, 1);
        })}>Take out<span class="unseen"> patient ${k + 1}</span></button>
    </div>`;
  }

  private strategy(k: number) {
    const { form } = this;
    const line = form.strategies[k];
    const { label, parameters, summary } = averagingStrategy(line.strategy);
    return html`<div class="strategy" role="group" aria-label=${`Strategy ${k + 1}: ${label}`}>
      <div class="line"><strong title=${summary}>${label}</strong>
        <label class="switch"><input type="checkbox" .checked=${line.flagAware} @change=${(event: Event) =>
          this.change(() => {
            line.flagAware = (event.target as HTMLInputElement).checked;
          })} />without flagged sweeps</label>
        <button ?disabled=${form.strategies.length === 1} @click=${() =>
          this.change(() => {
            form.strategies.splice(k, 1);
          })}>Take out<span class="unseen"> ${label}</span></button></div>
      <div class="line">${Object.entries(parameters.properties).map(
        ([key, { default: usual, unit }]) => html`<label class="short">${tunableLabel(key)}${unit ? `, ${unit}` : ''}
          <input type="text" inputmode="text" name=${key} placeholder=${String(usual)} .value=${line.values[key] ?? ''} @change=${this.text(
            (value) => {
              line.values[key] = value;
            },
          )} /></label>`,
      )}</div></div>`;
  }

  private field(label: string, id: string, value: string, set: (value: string) => void) {
    return html`<label class="short">${label}<input id=${id} type="text" inputmode="decimal" .value=${value} @change=${this.text(set)} /></label>`;
  }

  private text(set: (value: string) => void) {
    return (event: Event) => this.change(() => set((event.target as HTMLInputElement).value));
  }

  private measure(id: string, chosen: boolean): void {
    const { form } = this;
    this.change(() => {
      // In the order of the list: the first one decides the choice.
      form.measures = studyMeasures
        .map((measure) => measure.id)
        .filter((other) => (other === id ? chosen : form.measures.includes(other)));
    });
  }

  private addStrategy(event: Event): void {
    const field = event.target as HTMLSelectElement;
    const strategy = field.value;
    field.value = '';
    if (strategy === '') return;
    this.change(() => {
      this.form.strategies.push({ strategy, flagAware: false, values: {} });
    });
  }

  private change(deed: () => void): void {
    deed();
    this.requestUpdate();
    this.dispatchEvent(new CustomEvent('study-form', { bubbles: true, composed: true }));
  }
}
