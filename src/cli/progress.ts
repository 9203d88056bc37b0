/** How far something has come: a share from 0 to 1, with a word on what is being done where there is one. */
type Progress = number | { fraction: number; title: string };

/** Runs a generator of progress to its end; shows it on a terminal once it takes longer than half a second. */
export function withProgress<Result>(steps: Generator<Progress, Result>, what: string): Result {
  const toTerminal = process.stderr.isTTY === true;
  let shownAt = performance.now() + 500; // short work stays silent
  for (;;) {
    const step = steps.next();
    if (step.done) {
      if (toTerminal) process.stderr.write('\r\x1b[K');
      return step.value;
    }
    const now = performance.now();
    if (!toTerminal || now < shownAt) continue;
    shownAt = now + 100;
    const { fraction, title } = typeof step.value === 'number' ? { fraction: step.value, title: '' } : step.value;
    process.stderr.write(`\r\x1b[K${what}, ${(100 * fraction).toFixed(0)} %${title && `, ${title}`}`);
  }
}
