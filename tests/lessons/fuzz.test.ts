import { describe, expect, it } from 'vitest';
import { nextUniform, type Stream, stream } from '../../src/core/random/stream.ts';
import { AttemptError, attemptFile, readAttemptFile } from '../../src/lessons/attemptFile.ts';
import { type AttemptEvent, afterEvent, attemptOf, freshState } from '../../src/lessons/attemptLog.ts';
import type { RunCache } from '../../src/lessons/hiddenRuns.ts';
import { readLessonText } from '../../src/lessons/lessonText.ts';
import { LessonError } from '../../src/lessons/readLesson.ts';
import { verifyAttempt } from '../../src/lessons/verifyAttempt.ts';
import { lessonText } from './lessonFolders.ts';
import { markNow } from './marking.ts';
import { quickLesson } from './quickLesson.ts';

const theLesson = quickLesson();
const cache: RunCache = new Map();

const events: AttemptEvent[] = [
  { atS: 4, kind: 'answer', question: 'sweeps-80', answer: 480 },
  { atS: 9, kind: 'lock' },
  { atS: 10, kind: 'bench', run: 'ines' },
  { atS: 61, kind: 'hint', hint: 2 },
  { atS: 70, kind: 'unseal' },
  { atS: 80, kind: 'answer', question: 'scatter', answer: 'fifth' },
  { atS: 99, kind: 'finish' },
];

function honestText(): string {
  const state = events.reduce((before, event) => afterEvent(theLesson, before, event), freshState(theLesson));
  const mark = markNow(theLesson, attemptOf(state, 's'), cache);
  const origin = { lesson: theLesson, learner: 'Ada', attempt: 1, attemptSeed: 's', program: 'x' };
  return JSON.stringify(attemptFile(origin, events, state, mark));
}

const oddities = [
  null,
  true,
  -1,
  0,
  1e308,
  0.5,
  '',
  'x',
  '__proto__',
  'constructor',
  [],
  [[]],
  {},
  { a: 1 },
  'é'.repeat(999),
];

/** Changes one place of a document, at random: another value, a lost key, a new key. */
function mutated(document: unknown, random: Stream): unknown {
  const pick = <T>(entries: readonly T[]): T => entries[Math.floor(nextUniform(random) * entries.length)];
  if (typeof document !== 'object' || document === null || nextUniform(random) < 0.12) return pick(oddities);
  if (Array.isArray(document)) {
    const k = Math.floor(nextUniform(random) * document.length);
    const action = nextUniform(random);
    if (action < 0.15) return document.filter((_, i) => i !== k);
    if (action < 0.3) return [...document, document[k] ?? 1];
    return document.map((entry, i) => (i === k ? mutated(entry, random) : entry));
  }
  const keys = Object.keys(document);
  const key = pick(keys.length > 0 ? keys : ['x']);
  const entries = Object.entries(document);
  const action = nextUniform(random);
  if (action < 0.1) return Object.fromEntries(entries.filter(([other]) => other !== key));
  if (action < 0.2) return Object.fromEntries([...entries, [pick(['x', '__proto__', 'at50', 'kind']), pick(oddities)]]);
  return Object.fromEntries(entries.map(([other, value]) => [other, other === key ? mutated(value, random) : value]));
}

/** Changes characters of a text. */
function scribbled(text: string, random: Stream): string {
  const at = Math.floor(nextUniform(random) * text.length);
  const length = Math.floor(30 * nextUniform(random));
  const put = ['', '{', '"', ': ', '\n', '- ', '9', '&a ', '*a', '!!js ', '\u0000', '\ud800'];
  return text.slice(0, at) + put[Math.floor(nextUniform(random) * put.length)] + text.slice(at + length);
}

describe('what is fed with broken files', () => {
  it('the verifier refuses or finds fault, and never fails otherwise: 600 broken attempts, seed fuzz-attempts', () => {
    const honest = honestText();
    const random = stream('fuzz-attempts', 'fuzz');
    let refused = 0;
    let faulty = 0;
    for (let k = 0; k < 600; k++) {
      const text = k % 3 === 0 ? scribbled(honest, random) : JSON.stringify(mutated(JSON.parse(honest), random));
      try {
        const { problems } = verifyAttempt(theLesson, readAttemptFile('a.json', text), 'x', cache);
        if (problems.length > 0) faulty++;
        else expect(JSON.parse(text)).toEqual(JSON.parse(honest)); // only what changes nothing may pass
      } catch (error) {
        expect(error, `attempt ${k}: ${text.slice(0, 300)}`).toBeInstanceOf(AttemptError);
        refused++;
      }
    }
    expect(refused).toBeGreaterThan(100);
    expect(faulty).toBeGreaterThan(50);
  });

  it('the reader of lessons refuses or reads, and never fails otherwise: 200 broken lessons, seed fuzz-lessons', () => {
    const whole = lessonText('quieter-by-the-root', 'lesson.yaml');
    const document = JSON.parse(JSON.stringify(readLessonText(whole, 'x.yaml')));
    delete document.lineHz;
    const random = stream('fuzz-lessons', 'fuzz');
    let refused = 0;
    for (let k = 0; k < 200; k++) {
      const text = k % 2 === 0 ? scribbled(whole, random) : JSON.stringify(mutated(document, random));
      try {
        readLessonText(text, 'x.yaml', k % 4 < 2 ? 50 : 60);
      } catch (error) {
        expect(error, `lesson ${k}`).toBeInstanceOf(LessonError);
        refused++;
      }
    }
    expect(refused).toBeGreaterThan(60);
  });
});
