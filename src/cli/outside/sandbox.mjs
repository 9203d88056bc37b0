// Runs somebody else's strategy. Plain JavaScript on purpose: this process may read this one file and nothing else.
//
// Four walls, each enough for an honest mistake, together meant for more than that:
//   1. a process of its own, with an empty environment: neither truth nor scenario is in its memory
//   2. Node's permission model: no files but this one, no processes, no threads
//   3. a context without any object of Node: the strategy sees the language and nothing else
//   4. the constructors that turn text into code are gone from both realms, and so is what Node put on the global
import vm from 'node:vm';

const send = process.send.bind(process);
const exit = process.exit.bind(process);
const onMessage = (handler) => process.on('message', handler);
process.on('disconnect', () => exit(0));

// What runs inside. Only texts and numbers pass between the two realms, and samples through buffers made inside.
const HARNESS = `'use strict';
(() => {
  const { parse, stringify } = JSON;
  const averagers = new Map();
  const REASONS = ['taken', 'down-weighted', 'rejected', 'flagged', 'waiting'];
  let found, verdicts = [], input, interval, outputs;
  const strategy = () => {
    found ??= typeof outside === 'object' && outside !== null ? outside.default ?? outside.strategy : undefined;
    if (typeof found !== 'object' || found === null) throw new TypeError('the module must export a strategy as default');
    return found;
  };
  const number = (call, value) => {
    if (typeof value !== 'number') throw new TypeError(call + ' must return a number, got ' + typeof value);
    return String(value);
  };
  const buffer = (name, length) => {
    if (name === 'input') return input?.length === length ? input : (input = new Float64Array(length));
    if (name === 'interval') return interval?.length === length ? interval : (interval = new Float64Array(length));
    if (outputs?.[0].length !== length) outputs = [0, 1, 2].map(() => new Float64Array(length));
    return outputs[Number(name)];
  };
  const calls = {
    describe: () => {
      const { id, label, summary, timing, parameters, create, explain } = strategy();
      for (const [name, value] of Object.entries({ create, explain })) {
        if (typeof value !== 'function') throw new TypeError('the strategy must have a function ' + name);
      }
      const { orderFree, approximateShares, subtracts, usesInterval, usesBehaviour, longestWait } = strategy();
      const flags = { orderFree, approximateShares, subtracts, usesInterval, usesBehaviour };
      return stringify({ id, label, summary, timing, parameters, flags, waits: typeof longestWait === 'function' });
    },
    longestWait: (key, text) => number('longestWait', strategy().longestWait(parse(text))),
    create: (key, context, parameters) => {
      const tell = (v) => {
        if (!REASONS.includes(v.reason)) throw new TypeError('a verdict must have a reason, got ' + String(v.reason));
        verdicts.push([v.index, v.weight, v.fade, v.reason, v.measureUv, v.limitUv].map(String).join(','));
      };
      const averager = strategy().create(parse(context), parse(parameters), tell);
      for (const name of ['add', 'read', 'readPair', 'ownNoiseUv', 'usedCount', 'effectiveCount']) {
        if (typeof averager?.[name] !== 'function') throw new TypeError('create must return an averager with ' + name);
      }
      averagers.set(key, averager);
      return String(typeof averager.settle === 'function');
    },
    add: (key, meta, firstSample) => {
      const told = parse(meta);
      if (firstSample !== '') told.interval = { samplesUv: interval, firstSample: Number(firstSample) };
      averagers.get(key).add(input, told);
      return '';
    },
    settle: (key) => (averagers.get(key).settle(), ''),
    read: (key) => (averagers.get(key).read(outputs[0]), ''),
    readPair: (key) => (averagers.get(key).readPair(outputs[1], outputs[2]), ''),
    ownNoiseUv: (key) => number('ownNoiseUv', averagers.get(key).ownNoiseUv()),
    usedCount: (key) => number('usedCount', averagers.get(key).usedCount()),
    effectiveCount: (key) => number('effectiveCount', averagers.get(key).effectiveCount()),
    explain: (key, text) => {
      const [index, weight, fade, reason, measureUv, limitUv] = text.split(',');
      const verdict = { index: +index, weight: +weight, fade: +fade, reason, measureUv: +measureUv, limitUv: +limitUv };
      return String(strategy().explain(verdict));
    },
    forget: (key) => (averagers.delete(key), ''),
  };
  const call = (name, key, one, two) => {
    verdicts = [];
    try {
      const answer = calls[name](key, one, two);
      return 'ok\\n' + verdicts.join(';') + '\\n' + answer;
    } catch (error) {
      return 'failed\\n' + (error instanceof Error ? error.name + ': ' + error.message : 'threw ' + typeof error);
    }
  };
  return { call, buffer };
})()`;

// Neither time nor chance nor shared memory: the same sweeps must give the same answers.
const PREPARE = `'use strict';
delete Math.random;
const gone = ['Date', 'SharedArrayBuffer', 'Atomics', 'WebAssembly', 'WeakRef', 'FinalizationRegistry', 'Intl', 'console'];
for (const name of gone) {
  delete globalThis[name];
}`;

const context = vm.createContext(Object.create(null), {
  codeGeneration: { strings: false, wasm: false },
  microtaskMode: 'afterEvaluate',
});
const run = (code, filename) => new vm.Script(code, { filename }).runInContext(context);

function closeThisRealm() {
  const { deleteProperty } = Reflect;
  const functions = [() => {}, async () => {}, function* () {}, async function* () {}];
  for (const one of functions) {
    Object.defineProperty(Object.getPrototypeOf(one), 'constructor', { value: undefined, writable: false });
  }
  for (const name of Object.getOwnPropertyNames(globalThis)) {
    if (['globalThis', 'Object', 'Array', 'Error', 'TypeError', 'RangeError', 'Float64Array', 'Map'].includes(name))
      continue;
    deleteProperty(globalThis, name); // what the language nails down stays: NaN, Infinity, undefined
  }
}

let harness;
onMessage(({ call, key, one = '', two = '', code, name, sweepUv, intervalUv, wants = 0, length = 0 }) => {
  let reply;
  const outputs = [];
  try {
    if (call === 'load') {
      run(PREPARE, 'prepare');
      closeThisRealm();
      run(code, name);
      harness = run(HARNESS, 'harness');
      reply = 'ok\n\n';
    } else {
      if (sweepUv) harness.buffer('input', sweepUv.length).set(sweepUv);
      if (intervalUv) harness.buffer('interval', intervalUv.length).set(intervalUv);
      if (wants > 0) for (let k = 0; k < 3; k++) outputs.push(harness.buffer(`${k}`, length));
      reply = harness.call(call, key, one, two);
    }
  } catch (error) {
    reply = `failed\n${error?.name}: ${error?.message}`;
  }
  const [first, second] = wants === 2 ? [1, 3] : [0, 1];
  send({
    reply: `${reply}`,
    outputs: wants > 0 ? outputs.slice(first, second).map((one) => new Float64Array(one)) : [],
  });
});
