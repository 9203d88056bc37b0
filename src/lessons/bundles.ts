import type { Lesson } from './schema.ts';

/** Lessons that belong together, for one sitting or one trade. */
export interface Bundle {
  /** Named by the manifests of its lessons: never renamed. */
  id: Lesson['bundles'][number];
  title: string;
  summary: string;
  /** Folders of its lessons, in the order in which they build on one another. */
  order: readonly string[];
}

/** Every bundle. */
export const bundles: readonly Bundle[] = [
  {
    id: 'in-service',
    title: 'For the team, in service',
    summary:
      'Hum at the bedside, an amplifier at its rail, a child on a lap, and waves that are none: a morning’s troubles.',
    order: ['electric-storm', 'rails-and-tails', 'calm-enough', 'crackle-echo-or-ear'],
  },
  {
    id: 'engineer',
    title: 'For those who build averagers',
    summary:
      'Where weighting cannot help, where it wins, how it fools itself, when to forget; then a design to stand by.',
    order: [
      'which-beat-to-march-to',
      'weigh-dont-throw',
      'marked-its-own-homework',
      'moving-target',
      'build-tune-stand-by-it',
    ],
  },
];

/**
 * The lessons of a bundle, in its order: those whose manifests name it.
 *
 * One that the order does not know yet comes last, by its place in the curriculum.
 */
export function lessonsOf<Entry extends { lesson: Lesson }>(bundle: Bundle, all: readonly Entry[]): Entry[] {
  const rank = ({ lesson }: Entry) => {
    const at = bundle.order.indexOf(lesson.id);
    return at < 0 ? bundle.order.length + lesson.place : at;
  };
  return all.filter(({ lesson }) => lesson.bundles.includes(bundle.id)).sort((a, b) => rank(a) - rank(b));
}

/** Sum of the minutes of some lessons. */
export function minutesOf(entries: readonly { lesson: Lesson }[]): number {
  return entries.reduce((sum, { lesson }) => sum + lesson.minutes, 0);
}
