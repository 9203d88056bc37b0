/**
 * The one error a reader of recordings throws: the message is a single line that names file, place and rule.
 *
 * @example new RecordingError('a.edf', 'header', 'must be 256 bytes or more, got 12').message
 * // 'a.edf: header: must be 256 bytes or more, got 12'
 */
export class RecordingError extends Error {
  override readonly name = 'RecordingError';

  /**
   * @param fileName - as the user gave it
   * @param place - where in the file (or which setting), for example "line 12, column TP9"
   * @param rule - what should hold, the value found, and a remedy if there is one
   */
  constructor(fileName: string, place: string, rule: string) {
    super(oneLine(`${fileName}: ${place}: ${rule}`));
  }
}

/** Shortens a piece of file text and puts it in quotes, so that it can stand in a message. */
export function quoted(value: string): string {
  const text = oneLine(value);
  return `"${text.length > SHOWN_LENGTH ? `${text.slice(0, SHOWN_LENGTH)}…` : text}"`;
}

/** Joins choices for a message; a long list is cut, and the number left out is told. */
export function listed(choices: readonly string[]): string {
  if (choices.length === 0) return 'none';
  const shown = choices.slice(0, SHOWN_CHOICES).map(oneLine).join(', ');
  return choices.length > SHOWN_CHOICES ? `${shown} and ${choices.length - SHOWN_CHOICES} more` : shown;
}

const SHOWN_LENGTH = 40; // our choice: a cell or a header field fits, a paragraph does not
const SHOWN_CHOICES = 24; // our choice: names every channel of a small montage

function oneLine(text: string): string {
  // Control characters and line ends of a damaged file would break the line or the terminal.
  return text.replace(/[\p{Cc}\u2028\u2029]/gu, '?');
}
