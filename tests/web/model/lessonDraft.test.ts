import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { unzipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { readLessonFolder } from '../../../src/cli/lessonFolder.ts';
import { lessonDigest } from '../../../src/lessons/attemptFile.ts';
import { fieldText, fieldValue, LessonDraft } from '../../../src/web/model/lessonDraft.ts';
import { formLists } from '../../../src/web/model/lessonFormParts.ts';
import { lesson } from '../../lessons/lessonFolders.ts';

const SLUG = 'which-beat-to-march-to'; // has variants for both supplies

describe('LessonDraft', () => {
  it('saves a lab lesson, edited, as a folder that the terminal reads as that lesson', () => {
    const draft = LessonDraft.ofLab(SLUG);
    expect(draft.findings().problems).toEqual([]);
    draft.set(['title'], 'Another title');
    const { name, bytes } = draft.zip();
    expect(name).toBe(`${SLUG}.zip`);
    const folder = mkdtempSync(join(tmpdir(), 'sweepwise-draft-'));
    for (const [path, content] of Object.entries(unzipSync(bytes))) {
      mkdirSync(dirname(join(folder, path)), { recursive: true });
      writeFileSync(join(folder, path), content);
    }
    for (const lineHz of [50, 60] as const) {
      const read = readLessonFolder(join(folder, SLUG), lineHz).lesson;
      expect(lessonDigest(read)).toBe(lessonDigest({ ...lesson(SLUG, lineHz), title: 'Another title' }));
    }
    rmSync(folder, { recursive: true });
    const again = LessonDraft.ofFiles([{ path: name, bytes }]);
    expect([again.text, again.texts]).toEqual([draft.text, draft.texts]);
  });

  it('begins with a whole manifest, and names what it still lacks', () => {
    const { lesson: smallest, problems } = LessonDraft.empty().findings();
    expect(smallest?.id).toBe('my-lesson');
    expect(problems).toHaveLength(5);
    expect(problems[0]).toBe('introduction.md: must hold a text, got ""');
  });

  it('changes one place and leaves comments and all else', () => {
    const draft = LessonDraft.empty();
    draft.setText(draft.text.replace('minutes: 20', 'minutes: 20 # by the clock'));
    draft.set(['timeLimitMinutes'], 30);
    draft.set(['settings', 0, 'minimum'], 8);
    expect(draft.text).toContain('minutes: 20 # by the clock');
    expect(draft.findings().lesson).toMatchObject({ timeLimitMinutes: 30, settings: [{ minimum: 8 }] });
    draft.set(['timeLimitMinutes'], undefined);
    expect(draft.valueAt(['timeLimitMinutes'])).toBeUndefined();
  });

  it('names line, key and rule of a refusal, and what is unusual in the scenario', () => {
    const draft = LessonDraft.empty();
    draft.set(['hidden', 'seeds'], 'lucky');
    expect(draft.findings().problems[0]).toMatch(/^lesson\.yaml:\d+: hidden\.seeds: must be per-attempt or .*"lucky"$/);
    draft.set(['hidden', 'seeds'], 'per-learner');
    draft.set(['runs', 0, 'change'], { 'filter.lowPassHz': 7000 });
    expect(draft.findings().warnings[0]).toMatch(/^the patient: filter\.lowPassHz .*, got 7000$/);
  });

  it('waits while the text is no YAML, and takes a word where a group must be without failing', () => {
    const draft = LessonDraft.empty();
    draft.setText('id: [');
    expect(draft.syntaxProblem).toContain('lesson.yaml');
    expect(draft.findings().lesson).toBeNull();
    draft.setText('hidden: none');
    expect(draft.valueAt(['hidden', 'seeds'])).toBeUndefined();
    expect(() => draft.set(['hidden', 'seeds'], 'shared')).toThrow();
    expect(() => LessonDraft.ofFiles([{ path: 'a.zip', bytes: new Uint8Array([1, 2, 3]) }])).toThrow('must be a zip');
  });

  it('a fresh entry of any list is refused for its points or its place, never for its shape', () => {
    for (const { key, fresh } of formLists) {
      for (const entry of Object.values(fresh)) {
        const draft = LessonDraft.empty();
        draft.add([key], entry);
        const shape = draft.findings().problems.filter((problem) => problem.startsWith('lesson.yaml'));
        const byPoints = /points must add up|players\.textbook\.settings/;
        expect(
          shape.filter((problem) => !byPoints.test(problem)),
          `${key} ${JSON.stringify(entry)}`,
        ).toEqual([]);
      }
    }
  });
});

describe('fieldText and fieldValue', () => {
  it.each([[25], [{ at50: 25, at60: 30 }], [['a', 'b']], [true], [undefined]])('%j comes back', (value) => {
    expect(fieldValue(fieldText(value))).toEqual(value);
  });
});
