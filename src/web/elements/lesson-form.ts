// Over 300 lines with its styles: the parts of one form, one template each, share one draft and one place for refusals.
import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { presetGroups } from '../../core/scenario/presets.ts';
import { LESSON_TEXTS, type LessonTextFile } from '../../lessons/lessonFiles.ts';
import type { Lesson } from '../../lessons/schema.ts';
import type { Bench } from '../model/bench.ts';
import { type DraftFindings, type DraftPath, fieldText, fieldValue, LessonDraft } from '../model/lessonDraft.ts';
import { aboutPart, essayPart, type FormField, type FormPart, formLists, rulesPart } from '../model/lessonFormParts.ts';
import { lessonTitles } from '../model/lessonLibrary.ts';
import './lesson-form-controls.ts';
import './lesson-form-list.ts';
import { saveFile } from './saveFile.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

/** The lesson that is being written: it stays while the page is open, whatever else is looked at. */
let kept: LessonDraft | null = null;

const textLabels: Record<LessonTextFile, string> = {
  'introduction.md': 'Introduction',
  'tasks.md': 'What to do',
  'hints.md': 'Hints, a list with “- ”',
  'model-answer.md': 'Model answer',
  'design.md': 'What was set on purpose (for instructors)',
};

/** The form in which a lesson is written: fields and YAML text, checked as one goes, tried by the standard players, saved as a folder. */
@customElement('sweep-lesson-form')
export class SweepLessonForm extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .row { display: flex; flex-wrap: wrap; gap: 0.4rem 0.6rem; align-items: center; margin: 0.5rem 0; }
      .row label { min-width: 0; max-width: 100%; }
      select { max-width: 100%; }
      progress { flex: 1 1 8rem; min-width: 0; accent-color: var(--ink); }
      #findings { position: sticky; top: 0; z-index: 1; background: var(--paper); border: 1px solid var(--rule); border-radius: 3px; padding: 0.35rem 0.6rem; max-height: 9rem; overflow-y: auto; overflow-wrap: anywhere; font-size: 0.9rem; }
      #findings ul { margin: 0.2rem 0 0; padding-left: 1.1rem; }
      .part { border-top: 1px solid var(--rule); padding: 0.3rem 0; }
      .part > summary { font: italic 400 1rem/1.5 "Iowan Old Style", Palatino, Georgia, "DejaVu Serif", serif; }
      .fields { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 11rem), 1fr)); gap: 0.35rem 0.6rem; }
      .fields label, .wide { display: grid; gap: 0.1rem; font-size: 0.9rem; min-width: 0; align-content: end; }
      .lines { grid-column: 1 / -1; }
      input[type='text'], textarea { width: 100%; min-width: 0; }
      .code { font-family: ui-monospace, monospace; font-size: 0.82rem; }
      [aria-invalid='true'] { outline: 2px solid var(--flag); }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private draft = kept ?? LessonDraft.empty();
  @state() private problem: string | null = null;
  private checked: { text: string; texts: string; findings: DraftFindings } | null = null;
  private readonly dryRun = new TaskController(this, 'dry-run');

  override render() {
    const { draft } = this;
    kept = draft;
    const findings = this.findings();
    const refused = refusedKey(findings.problems[0] ?? '');
    const broken = draft.syntaxProblem !== null;
    const part = (title: string, body: unknown, open = false) =>
      html`<details class="part" ?open=${open}><summary>${title}</summary>${body}</details>`;
    return html`
      <h2>Write a lesson</h2>
      <p class="soft">Form and YAML text are the same lesson. Save it before you leave the page.</p>
      ${this.beginnings()}
      <div id="findings" role="status" tabindex="0" aria-label="Checks">${this.findingsPart(findings)}</div>
      ${this.problem === null ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      ${
        broken
          ? html`<p class="soft">The form waits until the YAML text below is mended.</p>`
          : html`
            ${part(aboutPart.title, this.fields(aboutPart, refused), true)}
            ${part('Patient: keys of the scenario', this.scenario(refused))}
            ${part(
              'Controls: locked, free, hidden',
              html`<sweep-lesson-form-controls .draft=${draft} .text=${draft.text} @draft-change=${this.changed}></sweep-lesson-form-controls>`,
            )}
            ${part(rulesPart.title, this.fields(rulesPart, refused))}
            ${formLists.map((list) =>
              part(
                list.title,
                html`<sweep-lesson-form-list .draft=${draft} .list=${list} .text=${draft.text} .refused=${refused}
                  @draft-change=${this.changed}></sweep-lesson-form-list>`,
              ),
            )}
            ${part(essayPart.title, this.fields(essayPart, refused))}
            ${part('Standard players of the dry run', this.players(refused))}`
      }
      ${part('Texts', this.texts())}
      ${part(
        'The whole manifest as YAML',
        html`<label class="wide"><span class="unseen">lesson.yaml</span><textarea id="yaml" class="code" rows="24" spellcheck="false"
          .value=${draft.text} @change=${(event: Event) => this.change(() => draft.setText((event.target as HTMLTextAreaElement).value))}></textarea></label>`,
        broken,
      )}
      ${this.dryRunPart(findings)}
      <div class="row">
        <button id="save-zip" class="primary" @click=${this.save}>Save the lesson folder, zip</button>
        <button id="save-yaml" @click=${() => saveFile('lesson.yaml', new Blob([draft.text], { type: 'application/yaml' }))}>Save lesson.yaml alone</button>
        ${findings.problems.length > 0 ? html`<span class="soft">It can be saved as it is; “lesson check” will refuse it.</span>` : nothing}
      </div>
    `;
  }

  private beginnings() {
    return html`<div class="row">
      <label>Begin with <select id="begin" @change=${this.begin}>
        <option value="">…</option>
        <option value="empty">the smallest lesson</option>
        ${lessonTitles().map(({ id, title }) => html`<option value=${id}>${title}</option>`)}
      </select></label>
      <label>or open <input id="open-lesson" type="file" multiple accept=".zip,.yaml,.yml,.md" @change=${this.open} /></label>
    </div>`;
  }

  private findingsPart({ problems, warnings }: DraftFindings) {
    return html`
      ${
        problems.length === 0
          ? html`<strong>Good, for 50 and 60 Hz.</strong>`
          : html`<strong class="problem">${problems.length === 1 ? 'To mend' : `${problems.length} to mend`}</strong>
            <ul>${problems.map((problem) => html`<li class="problem">${problem}</li>`)}</ul>`
      }
      ${
        warnings.length === 0
          ? nothing
          : html`<p>Unusual, but possible:</p><ul id="warnings">${warnings.map((warning) => html`<li>${warning}</li>`)}</ul>`
      }`;
  }

  private fields({ fields }: FormPart, refused: string) {
    return html`<div class="fields">${fields.map((field) => this.field(field, refused))}</div>`;
  }

  private field({ key, label, as }: FormField, refused: string) {
    const path = key.split('.');
    const value = this.draft.valueAt(path);
    const invalid = refused === key || refused.startsWith(`${key}.`);
    const take = (read: (text: string) => unknown) => (event: Event) => {
      const { value: text } = event.target as HTMLInputElement;
      this.change(() => this.draft.set(path, read(text)));
    };
    const id = path.join('-');
    if (as === 'lines') {
      const entries = Array.isArray(value) ? value.map(fieldText) : [];
      return html`<label class="lines">${label}<textarea id=${id} rows=${Math.max(2, entries.length)} aria-invalid=${invalid}
        .value=${entries.join('\n')} @change=${take((text) => text.split('\n').filter((line) => line.trim() !== ''))}></textarea></label>`;
    }
    if (typeof as !== 'string') {
      return html`<label>${label}<select id=${id} aria-invalid=${invalid} @change=${take((text) => text)}>
        ${as.map((choice) => html`<option ?selected=${choice === value}>${choice}</option>`)}</select></label>`;
    }
    return html`<label>${label}<input type="text" id=${id} aria-invalid=${invalid} .value=${fieldText(value)}
      @change=${take(as === 'words' ? (text) => text : fieldValue)} /></label>`;
  }

  private scenario(refused: string) {
    const { draft } = this;
    const value = draft.valueAt(['scenario']);
    const isPreset = typeof value === 'string';
    return html`
      <div class="row"><label>Patient <select id="scenario" @change=${(event: Event) => {
        const { value: chosen } = event.target as HTMLSelectElement;
        const own = { id: 'own-patient', title: 'A patient', story: 'Who lies there, and how.' };
        this.change(() => draft.set(['scenario'], chosen === '' ? own : chosen));
      }}>
        <option value="" ?selected=${!isPreset}>of this lesson, by keys</option>
        ${presetGroups.map(
          (group) =>
            html`<optgroup label=${group.title}>${group.presets.map(
              ({ id, title }) => html`<option value=${id} ?selected=${id === value}>${title}</option>`,
            )}</optgroup>`,
        )}</select></label></div>
      ${isPreset ? nothing : this.yamlField(['scenario'], 'Keys that differ from the defaults, YAML', refused)}
      ${this.yamlField(['cases'], 'Cases of unlabelled patients, YAML (empty: none)', refused)}`;
  }

  private players(refused: string) {
    return html`${this.yamlField(['players', 'textbook'], 'Knows the law and the texts', refused)}
      ${this.yamlField(['players', 'careless'], 'Holds the misconceptions', refused)}`;
  }

  /** A group or a list for which the form has no fields. */
  private yamlField(path: DraftPath, label: string, refused: string) {
    const place = path.join('.');
    const text = this.draft.yamlAt(path);
    return html`<label class="wide">${label}<textarea id=${path.join('-')} class="code" spellcheck="false" rows=${Math.min(18, text.split('\n').length + 1)}
      aria-invalid=${refused === place || refused.startsWith(`${place}.`)} .value=${text}
      @change=${(event: Event) => this.change(() => this.draft.set(path, fieldValue((event.target as HTMLTextAreaElement).value)))}></textarea></label>`;
  }

  private texts() {
    return html`<p class="soft">Markdown; [[25|30]] is 25 at a supply of 50 Hz and 30 at 60 Hz.</p>
      ${LESSON_TEXTS.map(
        (
          file,
        ) => html`<label class="wide">${textLabels[file]}<textarea id=${file.replace('.md', '')} rows="6" .value=${this.draft.texts[file]}
          @change=${(event: Event) =>
            this.change(() => {
              this.draft.texts[file] = (event.target as HTMLTextAreaElement).value;
            })}></textarea></label>`,
      )}`;
  }

  private dryRunPart({ lesson }: DraftFindings) {
    const { result } = this.dryRun;
    return html`
      <div class="row">
        <button id="dry-run" ?disabled=${lesson === null} @click=${() => this.tryIt(lesson)}>Dry run: ten standard players</button>
        ${this.dryRun.progress('Dry run')}
      </div>
      ${
        result
          ? html`<table id="dry-run-result">
              <caption class="unseen">Points of the standard players</caption>
              <thead><tr><th scope="col">Player</th><th scope="col">Mean</th><th scope="col">Lowest</th><th scope="col">Highest</th></tr></thead>
              <tbody>${result.players.map(
                ({ text, points }) => html`<tr><th scope="row">${text}</th>
                  <td>${(points.reduce((sum, value) => sum + value, 0) / points.length).toFixed(0)}</td>
                  <td>${Math.min(...points)}</td><td>${Math.max(...points)}</td></tr>`,
              )}</tbody></table>
            <ul id="verdicts">${result.verdicts.map(
              ({ id, text, holds }) =>
                html`<li class=${holds ? '' : 'problem'}>${holds ? 'Yes' : 'No'}, ${id}: ${text}</li>`,
            )}</ul>`
          : nothing
      }`;
  }

  private tryIt(lesson: Lesson | null): void {
    if (!lesson) return;
    this.bench.pause(); // the hidden patients need the processor
    void this.dryRun.start({ lesson });
  }

  /** What is wrong now; worked out once for each state of the draft. */
  private findings(): DraftFindings {
    const { draft } = this;
    const texts = JSON.stringify(draft.texts);
    if (this.checked?.text !== draft.text || this.checked.texts !== texts) {
      this.checked = { text: draft.text, texts, findings: draft.findings() };
    }
    return this.checked.findings;
  }

  private change(work: () => void): void {
    this.problem = null;
    try {
      work();
    } catch (error) {
      this.problem = (error as Error).message;
    }
    this.dryRun.clear(); // its result was another lesson's
    this.requestUpdate();
  }

  private changed({ detail }: CustomEvent<{ problem: string | null }>): void {
    this.change(() => {});
    this.problem = detail.problem;
  }

  private begin(event: Event): void {
    const field = event.target as HTMLSelectElement;
    const { value } = field;
    field.value = '';
    if (value === '') return;
    this.change(() => {
      this.draft = value === 'empty' ? LessonDraft.empty() : LessonDraft.ofLab(value);
    });
  }

  private async open(event: Event): Promise<void> {
    const field = event.target as HTMLInputElement;
    const files = [...(field.files ?? [])];
    field.value = '';
    if (files.length === 0) return;
    const opened = await Promise.all(
      files.map(async (file) => ({ path: file.name, bytes: new Uint8Array(await file.arrayBuffer()) })),
    );
    this.change(() => {
      this.draft = LessonDraft.ofFiles(opened);
    });
  }

  private save(): void {
    const { name, bytes } = this.draft.zip();
    saveFile(name, new Blob([bytes], { type: 'application/zip' }));
  }
}

/** The key that a refusal names: `lesson.yaml:12: settings.0.start: must …`. */
function refusedKey(problem: string): string {
  return /^lesson\.yaml(?::\d+)?: ([\w.-]+)/.exec(problem)?.[1] ?? '';
}
