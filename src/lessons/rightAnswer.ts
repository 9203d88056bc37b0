import type { FigureSource } from './figureParts.ts';
import { computeFigure } from './figures.ts';
import { type Answer, choicesThatHold } from './markQuestion.ts';
import type { Question } from './schema.ts';

/** The answer that gets all points on the patients of `source`; undefined for a choice that no option foresaw. */
export function rightAnswer(question: Question, source: FigureSource): Answer | undefined {
  switch (question.kind) {
    case 'number':
      return computeFigure(question.figure, source).value;
    case 'choice':
      return choicesThatHold(question, computeFigure(question.figure, source).value)[0]?.id;
    case 'ranking': {
      const valued = question.items.map(({ id, figure }) => ({ id, value: computeFigure(figure, source).value }));
      const place = (value: number) => (Number.isNaN(value) ? Infinity : value);
      return valued.sort((a, b) => (place(a.value) < place(b.value) ? -1 : 1)).map(({ id }) => id);
    }
    case 'yes-no': {
      const { items, atMost = Infinity, atLeast = -Infinity } = question;
      const holds = (value: number) => value <= atMost && value >= atLeast;
      return Object.fromEntries(items.map(({ id, figure }) => [id, holds(computeFigure(figure, source).value)]));
    }
    case 'claims': {
      const holding = question.claims.filter(({ figure, from = -Infinity, to = Infinity }) => {
        const { value } = computeFigure(figure, source);
        return value >= from && value < to;
      });
      return holding.slice(0, question.pick).map(({ id }) => id);
    }
    default:
      return question satisfies never;
  }
}
