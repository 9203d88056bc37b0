import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { classOrderOf } from '../model/classFiles.ts';
import { decimalText } from '../model/numberText.ts';
import type { ClassFindings } from '../worker/classFindings.ts';
import { saveFile } from './saveFile.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

type LessonReport = ClassFindings['reports'][number];

const MOST_WRONG_ANSWERS = 12; // as many as the terminal shows

/** What an instructor learns from a folder of attempts: every one is replayed and marked again before it counts. */
@customElement('sweep-class-report')
export class SweepClassReport extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .row { display: flex; flex-wrap: wrap; gap: 0.4rem 0.6rem; align-items: center; margin: 0.6rem 0; }
      progress { flex: 1 1 8rem; min-width: 0; accent-color: var(--ink); }
      h3 { margin: 1rem 0 0.3rem; }
      h4 { margin: 0.8rem 0 0.2rem; font-size: 0.95rem; }
      ul { margin: 0.3rem 0; padding-left: 1.2rem; overflow-wrap: anywhere; }
      .strip { width: 55%; text-align: left; }
      .bar { display: inline-block; height: 0.75rem; background: var(--ink-soft); vertical-align: middle; }
      pre { white-space: pre-wrap; overflow-wrap: anywhere; font: inherit; font-size: 0.9rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private problem: string | null = null;
  private readonly task = new TaskController(this, 'class-report');

  override render() {
    const { result, state: task } = this.task;
    return html`
      <h2>A class</h2>
      <p class="soft">Choose the folder with the attempts that learners saved, or the files themselves. Each is replayed and marked
        again here; one that is not what it claims is named and does not count. Lessons of your own: put their lesson.yaml beside the attempts.</p>
      <div class="row">
        <label>Folder <input id="class-folder" type="file" webkitdirectory @change=${this.choose} /></label>
        <label>Files <input id="class-files" type="file" multiple accept=".json,.yaml,.yml" @change=${this.choose} /></label>
      </div>
      <div class="row" role="status">
        ${this.task.progress('Replaying the attempts')}
        ${task.kind === 'running' ? html`<span>Replaying and marking, ${Math.round(100 * task.fraction)} %</span>` : nothing}
        ${result ? html`<span id="class-done">${counted(result)}</span>` : nothing}
      </div>
      ${this.problem === null ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      ${result ? this.findings(result) : nothing}
    `;
  }

  private findings({ reports, left, notes, csv }: ClassFindings) {
    return html`
      ${
        reports.length > 0
          ? html`<div class="row"><button id="class-csv" @click=${() => saveFile('class.csv', new Blob([csv], { type: 'text/csv' }))}>Save CSV, one row an attempt</button></div>`
          : nothing
      }
      ${
        left.length > 0
          ? html`<h3>Left out</h3>
            <ul id="left-out">${left.map(({ name, reasons }) => html`<li><strong>${name}</strong>: ${reasons.join('; ')}</li>`)}</ul>`
          : nothing
      }
      ${notes.length > 0 ? html`<h3>To look at</h3><ul>${notes.map((note) => html`<li>${note}</li>`)}</ul>` : nothing}
      ${reports.map((report) => lessonPart(report))}
    `;
  }

  private async choose(event: Event): Promise<void> {
    const field = event.target as HTMLInputElement;
    const files = [...(field.files ?? [])];
    field.value = '';
    if (files.length === 0) return;
    this.problem = null;
    this.task.clear();
    try {
      const chosen = files.map((file) => ({ path: file.webkitRelativePath || file.name, text: () => file.text() }));
      this.bench.pause(); // the hidden patients need the processor
      await this.task.start(await classOrderOf(chosen));
    } catch (error) {
      this.problem = (error as Error).message;
    }
  }
}

function counted({ reports, left }: ClassFindings): string {
  const good = reports.reduce((sum, { attemptCount }) => sum + attemptCount, 0);
  return `${good} good ${good === 1 ? 'attempt' : 'attempts'}, ${left.length} left out.`;
}

function lessonPart(report: LessonReport) {
  const { title, lineHz, attemptCount, quartiles, histogram, parts, items, misconceptions, texts } = report;
  const [lowest, quarter, median, threeQuarters, highest] = quartiles.map((points) => decimalText(points, 0));
  const most = Math.max(1, ...histogram);
  return html`<section aria-label=${title}>
    <h3>${title}, ${lineHz} Hz: ${attemptCount} ${attemptCount === 1 ? 'attempt' : 'attempts'}</h3>
    <p>Points: lowest ${lowest}, quartiles ${quarter}, ${median}, ${threeQuarters}, highest ${highest}.</p>
    <table>
      <caption class="unseen">Attempts by points</caption>
      <thead><tr><th scope="col">Points</th><th scope="col">Attempts</th><th><span class="unseen">Share</span></th></tr></thead>
      <tbody>${histogram.map(
        (count, k) => html`<tr><th scope="row">${k === 9 ? '90–100' : `${10 * k}–${10 * k + 9}`}</th><td>${count}</td>
          <td class="strip"><span class="bar" style=${`width: ${((100 * count) / most).toFixed(0)}%`}></span></td></tr>`,
      )}</tbody>
    </table>
    <h4>Parts and items</h4>
    <div class="scroll" tabindex="0" role="group" aria-label="Parts and items"><table>
      <thead><tr><th scope="col">Item</th><th scope="col">Mean</th><th scope="col">Discrimination</th></tr></thead>
      <tbody>${parts.map(
        ({ part, mean, outOf }) => html`
          <tr><th scope="rowgroup">${part}</th><td>${decimalText(mean, 1)} of ${outOf}</td><td></td></tr>
          ${items
            .filter((item) => item.part === part)
            .map(
              (item) => html`<tr><th scope="row" style="font-weight: 400; padding-left: 1rem">${item.text}</th>
                <td>${decimalText(100 * item.difficulty, 0)} %</td><td>${decimalText(item.discrimination, 2)}</td></tr>`,
            )}`,
      )}</tbody>
    </table></div>
    <p class="soft">Mean: share of the points, high is easy. Discrimination: correlation with the rest of the score.</p>
    <h4>Most frequent wrong answers</h4>
    ${
      misconceptions.length === 0
        ? html`<p class="soft">None among the options.</p>`
        : html`<ul>${misconceptions
            .slice(0, MOST_WRONG_ANSWERS)
            .map(({ question, text, count, of }) => html`<li>${count} of ${of}: “${text}” to “${question}”</li>`)}</ul>`
    }
    <details><summary>The learners’ own texts, with the rubric</summary><pre>${texts}</pre></details>
  </section>`;
}
