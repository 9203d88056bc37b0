import type { LineHz } from '../../lessons/atLine.ts';
import type { Drill } from '../../lessons/drills/drillSchema.ts';
import { readDrillText } from '../../lessons/drills/readDrill.ts';

// Put into the page when it is built: the lab works without a network.
const files = import.meta.glob<string>('../../../assets/drills/*.yaml', {
  eager: true,
  import: 'default',
  query: '?raw',
});

/**
 * Reads every drill of the lab for a supply of 50 or 60 Hz, in the order of the list.
 *
 * @throws {LessonError} if a drill is refused; a test holds that none is
 */
export function drillLibrary(lineHz: LineHz): Drill[] {
  return Object.entries(files)
    .map(([path, text]) => readDrillText(text, path.slice(path.indexOf('drills/')), lineHz))
    .sort((a, b) => a.place - b.place);
}
