/** The texts that every lesson has beside its manifest. */
export const LESSON_TEXTS = ['introduction.md', 'tasks.md', 'hints.md', 'model-answer.md', 'design.md'] as const;
export type LessonTextFile = (typeof LESSON_TEXTS)[number];

const SHORTEST_TEXT = 40; // characters; our choice: a sentence

/** Why a text of a lesson is refused, as `must …, got …`; null if it is not. */
export function lessonTextRule(text: string): string | null {
  return text.trim().length < SHORTEST_TEXT ? `must hold a text, got "${text.trim()}"` : null;
}
