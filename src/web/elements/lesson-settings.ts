import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Settings } from '../../lessons/lessonRun.ts';
import type { Setting } from '../../lessons/schema.ts';
import { sharedStyles } from './sharedStyles.ts';

/** A learner's change of a setting. */
export interface SettingChange {
  id: string;
  value: number | string;
}

/** The controls that a lesson leaves to the learner. Tells of a change by `lesson-setting`, detail: id and value. */
@customElement('sweep-lesson-settings')
export class SweepLessonSettings extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .settings { display: grid; grid-template-columns: minmax(0, 1fr); gap: 0.4rem; margin: 0.7rem 0; padding: 0.5rem 0; border-top: 1px solid var(--rule); border-bottom: 1px solid var(--rule); }
      label { display: flex; flex-wrap: wrap; gap: 0.3rem 0.6rem; align-items: baseline; }
      input { width: 6.5rem; }
      select { max-width: 100%; min-width: 0; }
    `,
  ];

  @property({ attribute: false }) settings!: readonly Setting[];
  @property({ attribute: false }) values!: Settings;
  @property({ type: Boolean }) locked = false;

  override render() {
    return html`<div class="settings" role="group" aria-labelledby="settings-title">
      <strong id="settings-title">Your settings</strong>
      ${this.settings.map((setting) => html`<label><span>${setting.text}</span>${this.field(setting)}</label>`)}
      <span class="soft">These are what the hidden patients are run with.${
        this.settings.some((setting) => 'diagnosisOf' in setting)
          ? ' What you say of a patient stands once the seal is broken.'
          : ''
      }</span>
    </div>`;
  }

  private field(setting: Setting) {
    const { id } = setting;
    const value = this.values[id];
    if (setting.kind === 'choice') {
      return html`<select id=${`setting-${id}`} ?disabled=${this.locked} @change=${(event: Event) => this.onChoice(id, event)}>
        ${setting.options.map((option) => html`<option value=${option.id} ?selected=${option.id === value}>${option.text}</option>`)}
      </select>`;
    }
    const { unit, minimum, maximum } = setting;
    return html`<span><input type="number" id=${`setting-${id}`} step="any" min=${minimum} max=${maximum} ?disabled=${this.locked}
        .value=${String(value)} @change=${(event: Event) => this.onNumber(id, event)} /> ${unit}
      <span class="soft">(${minimum} to ${maximum})</span></span>`;
  }

  private onChoice(id: string, event: Event): void {
    this.tell({ id, value: (event.target as HTMLSelectElement).value });
  }

  private onNumber(id: string, event: Event): void {
    const input = event.target as HTMLInputElement;
    this.tell({ id, value: input.valueAsNumber });
    input.value = String(this.values[id]); // what was refused does not stay in the field
    this.requestUpdate();
  }

  private tell(detail: SettingChange): void {
    this.dispatchEvent(new CustomEvent('lesson-setting', { detail }));
  }
}
