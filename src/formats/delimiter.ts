/** How the cells of a delimited text are told apart. */
export interface Delimiter {
  /** One character; a space stands for any run of white space. */
  readonly character: ',' | '\t' | ';' | ' ';
  readonly decimalComma: boolean;
}

// In this order, since text parted by a semicolon or tab may hold decimal commas, and a space may follow a
// comma or stand within a name.
const candidates = ['\t', ';', ',', ' '] as const;

/**
 * Finds the delimiter from the first lines: the first candidate that splits more than half of them into the same
 * number of cells, two or more. A decimal comma is recognised where the delimiter is not the comma itself.
 *
 * @param lines - the first lines, blank and comment lines left out
 * @returns a comma if no candidate fits: a single column of numbers
 * @example findDelimiter(['t;Cz', '0;1,5', '0,1;2,5']) // { character: ';', decimalComma: true }
 */
export function findDelimiter(lines: readonly string[]): Delimiter {
  for (const character of candidates) {
    const counts = new Map<number, number>();
    for (const line of lines) {
      const cellCount = splitCells(line, character).length;
      counts.set(cellCount, (counts.get(cellCount) ?? 0) + 1);
    }
    const [cellCount, lineCount] = [...counts].reduce((a, b) => (b[1] > a[1] ? b : a), [1, 0]);
    if (cellCount < 2 || lineCount <= 0.5 * lines.length) continue;
    const cells = lines.flatMap((line) => splitCells(line, character));
    const decimalComma = character !== ',' && cells.some(isDecimalComma) && !cells.some(isDecimalPoint);
    return { character, decimalComma };
  }
  return { character: ',', decimalComma: false };
}

function splitCells(line: string, character: string): string[] {
  return character === ' ' ? line.trim().split(/\s+/) : line.split(character);
}

const isDecimalComma = (cell: string): boolean => /^\s*"?[+-]?\d+,\d+"?\s*$/.test(cell);
const isDecimalPoint = (cell: string): boolean => /^\s*"?[+-]?\d+\.\d+"?\s*$/.test(cell);
