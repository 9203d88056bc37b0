/** Runs a generator of progress 0 … 1 to its end; shows it on a terminal once it takes longer than half a second. */
export function withProgress<T>(steps: Generator<number, T>, what: string): T {
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
    process.stderr.write(`\r\x1b[K${what}, ${(100 * step.value).toFixed(0)} %`);
  }
}
