/** A signal for `buildWfdb`: samples as stored, whole numbers. */
export interface BuiltWfdbSignal {
  samples: readonly number[];
  /** What stands after the storage format on the signal's line, for example "200(10)/mV 12 0". */
  rest?: string;
}

/** Packs interleaved samples, written from the specification signal(5) and independent of our reader. */
export function packWfdb(samples: readonly number[], format: number): Uint8Array {
  const bytes: number[] = [];
  const little = (value: number, width: number) => {
    for (let b = 0; b < width; b++) bytes.push(Math.floor(value / 2 ** (8 * b)) & 0xff);
  };
  if (format === 212) {
    for (let i = 0; i < samples.length; i += 2) {
      const first = (samples[i] + 4096) % 4096;
      const second = ((samples[i + 1] ?? 0) + 4096) % 4096;
      bytes.push(first % 256, Math.floor(first / 256) + 16 * Math.floor(second / 256), second % 256);
    }
  } else if (format === 80) for (const value of samples) bytes.push(value + 128);
  else if (format === 61) for (const value of samples) bytes.push(Math.floor(value / 256) & 0xff, value & 0xff);
  else for (const value of samples) little(value, format / 8);
  return Uint8Array.from(bytes);
}

/** Writes header and signal file of a record. */
export function buildWfdb(record: string, rateHz: number, format: number, signals: readonly BuiltWfdbSignal[]) {
  const frameCount = signals[0].samples.length;
  const lines = signals.map(({ rest = '200/mV 16 0 0 0 0 signal' }) => `${record}.dat ${format} ${rest}`);
  const header = [`${record} ${signals.length} ${rateHz} ${frameCount}`, ...lines, '# a comment', ''].join('\n');
  const interleaved = Array.from({ length: frameCount }, (_, i) => signals.map(({ samples }) => samples[i])).flat();
  return [
    { name: `${record}.hea`, bytes: new TextEncoder().encode(header) },
    { name: `${record}.dat`, bytes: packWfdb(interleaved, format) },
  ];
}

/** The 16-bit sum that a header states of one signal. */
export function wfdbChecksum(samples: readonly number[]): number {
  const sum = samples.reduce((total, value) => total + value, 0) & 0xffff;
  return sum > 32767 ? sum - 65536 : sum;
}

/** Writes an annotation file, from the specification annot(5). */
export function buildWfdbAnnotations(
  annotations: readonly { tick: number; code: number; text?: string; channel?: number }[],
): Uint8Array {
  const bytes: number[] = [];
  const word = (code: number, value: number) => bytes.push((code * 1024 + value) & 0xff, (code * 1024 + value) >> 8);
  let before = 0;
  for (const { tick, code, text, channel } of annotations) {
    let step = tick - before;
    if (step > 1023) {
      word(59, 0);
      bytes.push((step >> 16) & 0xff, step >> 24, step & 0xff, (step >> 8) & 0xff);
      step = 0;
    }
    word(code, step);
    if (channel !== undefined) word(62, channel);
    if (text !== undefined) {
      const letters = new TextEncoder().encode(text);
      word(63, letters.length);
      bytes.push(...letters, ...(letters.length % 2 === 1 ? [0] : []));
    }
    before = tick;
  }
  word(0, 0);
  return Uint8Array.from(bytes);
}
