import { marked } from 'marked';
import { type FigureSource, shortNumber } from './figureParts.ts';
import { computeFigure } from './figures.ts';
import { rightAnswer } from './rightAnswer.ts';
import type { Lesson, Question } from './schema.ts';

/** A lesson with its texts in Markdown. */
export interface LessonTexts {
  lesson: Lesson;
  introduction: string;
  tasks: string;
  modelAnswer: string;
}

/** Makes a printable handout with an answer sheet: one HTML page that needs nothing else. */
export function handout({ lesson, introduction, tasks }: LessonTexts): string {
  const { essay } = lesson;
  return page(
    lesson.title,
    `${markdown(introduction)}
<h2>What you will be able to do</h2>${list(lesson.objectives)}
<h2>What to do</h2>${markdown(tasks)}
<section class="sheet">
<h1>${escaped(lesson.title)}: answer sheet</h1>
<p class="line">Name ______________________________ &nbsp; Date ______________ &nbsp; Supply ${lesson.lineHz} Hz</p>
<h2>Before you run anything</h2>${lesson.predictions.map((question) => blank(question, lesson.confidencePoints > 0)).join('')}
<h2>Your settings</h2>${lesson.settings.map((setting) => `<p>${escaped(setting.text)}: ______________ ${setting.kind === 'number' ? escaped(setting.unit) : ''}</p>`).join('')}
<h2>What you measured</h2>${lesson.measurements.map((question) => blank(question, false)).join('')}
<h2>Why</h2>${lesson.explanations.map((question) => blank(question, false)).join('')}
<p><strong>${escaped(essay.prompt)}</strong> (${essay.minimumWords} to ${essay.maximumWords} words)</p>${'<p class="rule"></p>'.repeat(10)}
</section>`,
  );
}

/** Makes the instructor's key: the model answer, and the right answers on the patients of `source`. */
export function answerKey({ lesson, modelAnswer }: LessonTexts, source: FigureSource): string {
  const keyed = (question: Question) => `<li>${escaped(question.text)}<br><em>${inWords(question, source)}</em></li>`;
  const part = (title: string, questions: readonly Question[]) =>
    `<h2>${title}</h2><ol>${questions.map(keyed).join('')}</ol>`;
  const rules = lesson.outcome.map(
    ({ text, points, full, none }) => `<li>${escaped(text)}: ${points} points; all at ${full}, none at ${none}</li>`,
  );
  return page(
    `${lesson.title}: key`,
    `<h1>${escaped(lesson.title)}: key</h1>
<p>Lesson version ${lesson.version}, ${lesson.lineHz} Hz. Numbers are of one set of hidden patients; others differ by chance.</p>
${markdown(modelAnswer)}
${part('Predictions', lesson.predictions)}
<h2>Outcome</h2><ol>${rules.join('')}</ol>
${part('Measurements', lesson.measurements)}
${part('Explanations', lesson.explanations)}
<h2>Text</h2><p>${escaped(lesson.essay.prompt)}</p>${list(lesson.essay.rubric)}
<h2>Looking back</h2>${lesson.debrief.map((text) => `<p>${escaped(text)}</p>`).join('')}`,
  );
}

function blank(question: Question, withConfidence: boolean): string {
  const sure = withConfidence ? '<p class="sure">How sure are you that this is right? ______ %</p>' : '';
  return `<div class="question"><p><strong>${escaped(question.text)}</strong> (${question.points} points)</p>${fields(question)}${sure}</div>`;
}

function fields(question: Question): string {
  const lines = (texts: readonly string[]) => texts.map((text) => `<p class="option">${text}</p>`).join('');
  switch (question.kind) {
    case 'number':
      return `<p>______________ ${escaped(question.unit)}</p>`;
    case 'choice':
      return lines(question.options.map(({ text }) => `☐ ${escaped(text)}`));
    case 'claims':
      return lines([`At most ${question.pick}:`, ...question.claims.map(({ text }) => `☐ ${escaped(text)}`)]);
    case 'ranking':
      return lines(question.items.map(({ text }) => `____ ${escaped(text)}`)) + lines(['1 is the lowest.']);
    case 'yes-no':
      return lines(question.items.map(({ text }) => `${escaped(text)}: ☐ yes ☐ no`));
    default:
      return question satisfies never;
  }
}

function inWords(question: Question, source: FigureSource): string {
  const answer = rightAnswer(question, source);
  switch (question.kind) {
    case 'number': {
      const { words } = computeFigure(question.figure, source);
      return `${shortNumber(answer as number)} ${escaped(question.unit)} (${escaped(words)})`;
    }
    case 'choice':
      return escaped(question.options.find(({ id }) => id === answer)?.text ?? 'no option foresaw the figure');
    case 'claims':
      return (answer as string[])
        .map((id) => escaped(question.claims.find((claim) => claim.id === id)?.text ?? id))
        .join('; ');
    case 'ranking':
      return (answer as string[])
        .map((id) => escaped(question.items.find((item) => item.id === id)?.text ?? id))
        .join(' &lt; ');
    case 'yes-no': {
      const truth = answer as Record<string, boolean>;
      return question.items.map(({ id, text }) => `${escaped(text)}: ${truth[id] ? 'yes' : 'no'}`).join('; ');
    }
    default:
      return question satisfies never;
  }
}

function page(title: string, body: string): string {
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>${escaped(title)}</title>
<style>
body { font: 11pt/1.45 Georgia, "DejaVu Serif", serif; max-width: 44rem; margin: 2rem auto; padding: 0 1rem; color: #111; }
h1 { font-size: 1.6rem; } h2 { font-size: 1.15rem; margin-top: 1.6rem; }
.question { break-inside: avoid; } .option { margin: 0.15rem 0 0.15rem 1rem; } .sure { color: #444; font-size: 0.92em; }
.rule { border-bottom: 1px solid #999; height: 1.3rem; margin: 0; } .sheet { break-before: page; }
footer { margin-top: 2rem; border-top: 1px solid #999; font-size: 0.85em; color: #444; }
@page { margin: 18mm; }
</style></head><body>
${body}
<footer>Teaching simulation: model values, not normative, not for clinical decisions.</footer>
</body></html>
`;
}

function list(texts: readonly string[]): string {
  return `<ul>${texts.map((text) => `<li>${escaped(text)}</li>`).join('')}</ul>`;
}

function markdown(text: string): string {
  return marked.parse(text, { async: false });
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}
