import { dsvFormat } from 'd3-dsv';
import { findDelimiter } from './delimiter.ts';
import { quoted, RecordingError } from './recordingError.ts';

/** The columns of a delimited text as numbers. */
export interface NumberTable {
  /** Undefined where the first line holds numbers already. */
  readonly header: readonly string[] | undefined;
  readonly rowCount: number;
  /** One array per column; NaN where a cell is not a number. */
  readonly columns: readonly Float64Array[];
  /** The line each row stands on, counted from 1. */
  readonly lineNumbers: Float64Array;
  /** The first broken cell of each column, if it has one. */
  readonly firstBroken: readonly (BrokenCell | undefined)[];
  /** Lines that have another number of cells than the first; all their cells are broken. */
  readonly raggedCount: number;
  /** Blank lines between rows; those at the end do not count. */
  readonly blankLineCount: number;
  readonly warnings: readonly string[];
}

/** A cell that is not a number. */
interface BrokenCell {
  readonly line: number;
  readonly rule: string;
}

/**
 * Reads delimited text into columns of numbers.
 *
 * The first line names the columns if none of its cells is a number. Lines before it that begin with # or % are
 * comments. Blank lines are counted and left out. A last line that is cut off is left out with a warning. Whether
 * broken cells matter is the caller's decision: they come back as NaN with the first one of each column described.
 *
 * @throws {RecordingError} if there is no row of numbers
 * @example readNumberTable('a.csv', new TextEncoder().encode('time,Cz\n0,1\n')).columns[1][0] // 1
 */
export function readNumberTable(fileName: string, bytes: Uint8Array): NumberTable {
  const text = decodeText(fileName, bytes);
  const delimiter = findDelimiter(firstLines(text));
  const builder = new TableBuilder(delimiter.decimalComma);
  const cellsText = delimiter.character === ' ' ? text.replace(/[^\S\r\n]+/g, '\t').replace(/^\t|\t$/gm, '') : text;
  const format = dsvFormat(delimiter.character === ' ' ? '\t' : delimiter.character);
  format.parseRows(cellsText, (cells, index) => {
    builder.add(cells, index + 1);
    return null; // nothing is kept twice
  });
  return builder.finish(fileName, /[\r\n]$/.test(text));
}

const ACCEPTED_NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

/** The number in a cell, NaN if it is none. Unlike `Number`, takes no empty, hexadecimal or infinite ones. */
function parseCell(cell: string, decimalComma: boolean): number {
  const bare = cell.includes('"') ? unquoted(cell) : cell.trim();
  const plain = decimalComma ? bare.replace(',', '.') : bare;
  const value = ACCEPTED_NUMBER.test(plain) ? Number(plain) : NaN;
  return Number.isFinite(value) ? value : NaN;
}

/** Quotes that follow a space are not taken off by the splitter, as RFC 4180 has it; people write them all the same. */
function unquoted(cell: string): string {
  return cell
    .trim()
    .replace(/^"(.*)"$/, '$1')
    .trim();
}

class TableBuilder {
  private readonly decimalComma: boolean;
  private header: readonly string[] | undefined;
  private started = false;
  private columns: Float64Array<ArrayBuffer>[] = [];
  private lineNumbers = new Float64Array(FIRST_CAPACITY);
  private firstBroken: (BrokenCell | undefined)[] = [];
  private rowCount = 0;
  private raggedCount = 0;
  private blankLineCount = 0;
  private pendingBlankCount = 0;
  private lastRowIsShort = false;

  constructor(decimalComma: boolean) {
    this.decimalComma = decimalComma;
  }

  add(cells: string[], line: number): void {
    if (cells.length === 1 && cells[0].trim() === '') {
      if (this.rowCount > 0) this.pendingBlankCount++;
      return;
    }
    if (!this.started && /^\s*[#%]/.test(cells[0])) return;
    if (!this.started) {
      this.started = true;
      this.columns = cells.map(() => new Float64Array(FIRST_CAPACITY));
      this.firstBroken = cells.map(() => undefined);
      if (cells.every((cell) => Number.isNaN(parseCell(cell, this.decimalComma)))) {
        this.header = cells.map(unquoted);
        return;
      }
    }
    this.addRow(cells, line);
  }

  private addRow(cells: string[], line: number): void {
    if (this.rowCount === this.lineNumbers.length) this.grow();
    const row = this.rowCount++;
    this.blankLineCount += this.pendingBlankCount;
    this.pendingBlankCount = 0;
    this.lineNumbers[row] = line;
    const hasTrailingDelimiter = cells.length === this.columns.length + 1 && cells[this.columns.length].trim() === '';
    const isRagged = cells.length !== this.columns.length && !hasTrailingDelimiter;
    this.lastRowIsShort = cells.length < this.columns.length;
    if (isRagged) this.raggedCount++;
    for (let c = 0; c < this.columns.length; c++) {
      const value = isRagged ? NaN : parseCell(cells[c], this.decimalComma);
      this.columns[c][row] = value;
      if (Number.isNaN(value) && !this.firstBroken[c]) {
        const rule = isRagged
          ? `must have ${this.columns.length} cells, got ${cells.length}`
          : `must be a number, got ${cells[c].trim() === '' ? 'an empty cell' : quoted(cells[c])}`;
        this.firstBroken[c] = { line, rule };
      }
    }
  }

  finish(fileName: string, endsWithLineEnd: boolean): NumberTable {
    const warnings: string[] = [];
    const cutOff = this.lastRowIsShort && !endsWithLineEnd && this.rowCount > 1;
    if (cutOff) {
      this.rowCount--;
      this.raggedCount--;
      const line = this.lineNumbers[this.rowCount];
      this.firstBroken = this.firstBroken.map((broken) => (broken?.line === line ? undefined : broken));
      warnings.push(`line ${line}, the last, is cut off and was left out`);
    }
    if (this.rowCount === 0) throw new RecordingError(fileName, 'text', 'must hold lines of numbers, got none');
    return {
      header: this.header,
      rowCount: this.rowCount,
      columns: this.columns.map((column) => column.subarray(0, this.rowCount)),
      lineNumbers: this.lineNumbers.subarray(0, this.rowCount),
      firstBroken: this.firstBroken,
      raggedCount: this.raggedCount,
      blankLineCount: this.blankLineCount,
      warnings,
    };
  }

  private grow(): void {
    const capacity = this.lineNumbers.length * 2;
    this.columns = this.columns.map((column) => widened(column, capacity));
    this.lineNumbers = widened(this.lineNumbers, capacity);
  }
}

const FIRST_CAPACITY = 4096;

function widened(values: Float64Array<ArrayBuffer>, capacity: number): Float64Array<ArrayBuffer> {
  const wider = new Float64Array(capacity);
  wider.set(values);
  return wider;
}

function decodeText(fileName: string, bytes: Uint8Array): string {
  const isUtf16 = bytes[0] === 0xff && bytes[1] === 0xfe;
  if (!isUtf16 && bytes.subarray(0, 4096).includes(0)) {
    throw new RecordingError(fileName, 'file', 'must be EDF, BDF or delimited text, got other binary data');
  }
  return new TextDecoder(isUtf16 ? 'utf-16le' : 'utf-8').decode(bytes);
}

/** The lines the delimiter is found from; the last is left out where the excerpt may have cut it. */
function firstLines(text: string): string[] {
  const excerpt = text.slice(0, 65536);
  const lines = excerpt.split(/\r\n|\r|\n/);
  if (lines.length > 1 && excerpt.length < text.length) lines.pop();
  return lines.filter((line) => line.trim() !== '' && !/^\s*[#%]/.test(line)).slice(0, 50);
}
