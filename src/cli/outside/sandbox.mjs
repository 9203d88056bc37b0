// Runs somebody else's strategy. Plain JavaScript on purpose: this process may read this one file and nothing else.
//
// Four walls, each enough for an honest mistake, together meant for more than that:
//   1. a process of its own, with an empty environment: neither truth nor scenario is in its memory
//   2. Node's permission model: no files but this one, no processes, no threads (it does not speak of the network)
//   3. a context without any object of Node: the strategy sees the language and nothing else
//   4. the constructors that turn text into code are gone from both realms, and so is what Node put on the global
//
// Every averager gets a context of its own in which the module is evaluated anew: what one of them learns, no other
// replicate, lane or re-run can know.
import v8 from 'node:v8';
import vm from 'node:vm';

const send = process.send.bind(process);
const exit = process.exit.bind(process);
const cpuUsage = process.cpuUsage.bind(process);
const memoryUsage = process.memoryUsage.bind(process);
v8.setFlagsFromString('--expose-gc');
const collect = vm.runInNewContext('gc');
v8.setFlagsFromString('--no-expose-gc'); // realms made later have none
const LARGEST_BYTES = 1e6 * Number(process.argv[2]);
const onMessage = (handler) => process.on('message', handler);
const onUnhandled = (handler) => process.on('unhandledRejection', handler);
const afterRejections = setImmediate; // Node tells of rejected promises before that
process.on('disconnect', () => exit(0));

// What runs inside. Only texts and numbers pass between the two realms, and samples through buffers made inside. The
// strategy may replace anything in its realm, so what is needed later is kept before its module is evaluated, and no
// method is looked up on an object that it can reach.
const HARNESS = `'use strict';
(() => {
  const { parse, stringify } = JSON;
  const { apply } = Reflect;
  const Samples = Float64Array;
  const Failure = TypeError;
  const toNumber = Number;
  const toText = String;
  const buffers = { input: undefined, interval: undefined, average: undefined, bufferA: undefined, bufferB: undefined };
  let found, averager, told = '';
  const strategy = () => {
    if (typeof found !== 'object' || found === null) throw new Failure('the module must export a strategy as default');
    return found;
  };
  const method = (object, name) => {
    const one = object[name];
    if (typeof one !== 'function') throw new Failure('there must be a function ' + name);
    return one;
  };
  // What an async function does after its first wait, nobody waits for: there is no time in here.
  const atOnce = (call, value) => {
    const holds = (typeof value === 'object' && value !== null) || typeof value === 'function';
    if (holds && typeof value.then === 'function') throw new Failure(call + ' must answer at once, got a promise');
    return value;
  };
  const number = (call, value) => {
    atOnce(call, value);
    if (typeof value !== 'number') throw new Failure(call + ' must return a number, got ' + typeof value);
    return toText(value);
  };
  const given = (verdict, name) => {
    const value = verdict[name];
    if (typeof value !== 'number') throw new Failure('a verdict must have a number ' + name + ', got ' + typeof value);
    return toText(value);
  };
  const listen = (v) => {
    if (typeof v !== 'object' || v === null) throw new Failure('a verdict must be an object, got ' + typeof v);
    const r = v.reason;
    if (r !== 'taken' && r !== 'down-weighted' && r !== 'rejected' && r !== 'flagged' && r !== 'waiting') {
      throw new Failure('a verdict must have a reason, got ' + (typeof r === 'string' ? r : typeof r));
    }
    const line = given(v, 'index') + ',' + given(v, 'weight') + ',' + given(v, 'fade') + ',' + r + ','
      + given(v, 'measureUv') + ',' + given(v, 'limitUv');
    told += told === '' ? line : ';' + line;
  };
  const buffer = (name, length) => {
    const known = buffers[name];
    if (known !== undefined && known.length === length) return known.samples;
    const samples = new Samples(length);
    buffers[name] = { length, samples };
    return samples;
  };
  const calls = {
    describe: () => {
      const { id, label, summary, timing, parameters, create, explain } = strategy();
      if (typeof create !== 'function') throw new Failure('the strategy must have a function create');
      if (typeof explain !== 'function') throw new Failure('the strategy must have a function explain');
      const { orderFree, approximateShares, subtracts, usesInterval, usesBehaviour, longestWait } = strategy();
      const flags = { orderFree, approximateShares, subtracts, usesInterval, usesBehaviour };
      return stringify({ id, label, summary, timing, parameters, flags, waits: typeof longestWait === 'function' });
    },
    longestWait: (text) => number('longestWait', strategy().longestWait(parse(text))),
    create: (context, parameters) => {
      const made = atOnce('create', strategy().create(parse(context), parse(parameters), listen));
      if (typeof made !== 'object' || made === null) throw new Failure('create must return an averager');
      const settles = typeof made.settle === 'function';
      averager = {
        object: made,
        add: method(made, 'add'), read: method(made, 'read'), readPair: method(made, 'readPair'),
        ownNoiseUv: method(made, 'ownNoiseUv'), usedCount: method(made, 'usedCount'),
        effectiveCount: method(made, 'effectiveCount'), settle: settles ? method(made, 'settle') : () => {},
      };
      return settles ? 'true' : 'false';
    },
    add: (meta, firstSample) => {
      const heard = parse(meta);
      if (firstSample !== '') heard.interval = { samplesUv: buffers.interval.samples, firstSample: toNumber(firstSample) };
      atOnce('add', apply(averager.add, averager.object, [buffers.input.samples, heard]));
      return '';
    },
    settle: () => (atOnce('settle', apply(averager.settle, averager.object, [])), ''),
    read: () => (atOnce('read', apply(averager.read, averager.object, [buffers.average.samples])), ''),
    readPair: () => {
      atOnce('readPair', apply(averager.readPair, averager.object, [buffers.bufferA.samples, buffers.bufferB.samples]));
      return '';
    },
    ownNoiseUv: () => number('ownNoiseUv', apply(averager.ownNoiseUv, averager.object, [])),
    usedCount: () => number('usedCount', apply(averager.usedCount, averager.object, [])),
    effectiveCount: () => number('effectiveCount', apply(averager.effectiveCount, averager.object, [])),
    explain: (text) => {
      const { index, weight, fade, reason, measureUv, limitUv } = parse(text);
      const verdict = {
        index: toNumber(index), weight: toNumber(weight), fade: toNumber(fade), reason,
        measureUv: toNumber(measureUv), limitUv: toNumber(limitUv),
      };
      const sentence = atOnce('explain', strategy().explain(verdict));
      if (typeof sentence !== 'string') throw new Failure('explain must return a text, got ' + typeof sentence);
      return sentence;
    },
  };
  const complaint = (error) => {
    try {
      const { name, message } = error;
      return typeof message === 'string' ? (typeof name === 'string' ? name + ': ' : '') + message : 'threw no error';
    } catch {
      return 'threw what cannot be read';
    }
  };
  const guarded = (run) => {
    told = '';
    try {
      const answer = run();
      return 'ok\\n' + told + '\\n' + (typeof answer === 'string' ? answer : '');
    } catch (error) {
      return 'failed\\n' + complaint(error);
    }
  };
  const call = (name, one, two) => {
    const run = calls[name];
    return guarded(() => run(one, two));
  };
  const evaluate = (module) => guarded(() => {
    const exported = module();
    found = typeof exported === 'object' && exported !== null ? exported.default ?? exported.strategy : undefined;
  });
  return { call, buffer, evaluate, complaint };
})()`;

// Neither time nor chance nor shared memory: the same sweeps must give the same answers. No promises: none would be kept.
const PREPARE = `'use strict';
delete Math.random;
const gone = ['Date', 'SharedArrayBuffer', 'Atomics', 'WebAssembly', 'WeakRef', 'FinalizationRegistry', 'Intl', 'console',
  'Promise'];
for (const name of gone) {
  delete globalThis[name];
}`;

function closeThisRealm() {
  const { deleteProperty } = Reflect;
  const functions = [() => {}, async () => {}, function* () {}, async function* () {}];
  for (const one of functions) {
    Object.defineProperty(Object.getPrototypeOf(one), 'constructor', { value: undefined, writable: false });
  }
  const kept = ['globalThis', 'Object', 'Array', 'Error', 'TypeError', 'RangeError', 'Float64Array', 'Map'];
  for (const name of Object.getOwnPropertyNames(globalThis)) {
    if (!kept.includes(name)) deleteProperty(globalThis, name); // what the language nails down stays: NaN, Infinity
  }
}

const prepare = new vm.Script(PREPARE, { filename: 'prepare' });
const harnessScript = new vm.Script(HARNESS, { filename: 'harness' });
const { createContext, Script } = vm;
const copySamples = Function.prototype.call.bind(Object.getPrototypeOf(Float64Array.prototype).set);
let moduleScript;
let description; // the harness that tells what the strategy is and explains verdicts
const harnesses = new Map();

/** A fresh realm with the module evaluated in it. */
function opened() {
  const context = createContext(Object.create(null), {
    codeGeneration: { strings: false, wasm: false },
    microtaskMode: 'afterEvaluate',
  });
  prepare.runInContext(context);
  const harness = harnessScript.runInContext(context);
  const module = moduleScript.runInContext(context);
  return { harness, reply: harness.evaluate(module) };
}

/** Bytes that stay when what nobody holds any more is cleared away. */
function heldBytes() {
  collect();
  collect(); // what the first found to be free of finalisers only now goes
  const { heapUsed, arrayBuffers } = memoryUsage();
  return heapUsed + arrayBuffers;
}

function answered({ call, key, one = '', two = '', code, name, sweepUv, intervalUv, wants = 0, length = 0 }) {
  if (call === 'load') {
    moduleScript = new Script(`'use strict'; (() => {\n${code}\nreturn outside;\n})`, { filename: name });
    closeThisRealm();
    const { harness, reply } = opened();
    description = harness;
    return { reply };
  }
  if (call === 'forget') {
    harnesses.delete(key);
    return { reply: 'ok\n\n' };
  }
  if (call === 'heldBytes') return { reply: `ok\n\n${heldBytes()}` };
  if (call === 'create') {
    const { harness, reply } = opened();
    if (!reply.startsWith('ok')) return { reply };
    harnesses.set(key, harness);
  }
  const harness = harnesses.get(key) ?? description;
  if (sweepUv) copySamples(harness.buffer('input', sweepUv.length), sweepUv);
  if (intervalUv) copySamples(harness.buffer('interval', intervalUv.length), intervalUv);
  const names = wants === 2 ? ['bufferA', 'bufferB'] : wants === 1 ? ['average'] : [];
  const written = names.map((buffer) => harness.buffer(buffer, length));
  const reply = harness.call(call, one, two);
  const outputs = written.map((buffer) => {
    const copy = new Float64Array(length);
    copySamples(copy, buffer);
    return copy;
  });
  return { reply, outputs };
}

/** Bytes held, looked at again behind a clearing where they seem too many. */
function tooManyBytes() {
  const { heapUsed, arrayBuffers } = memoryUsage();
  return heapUsed + arrayBuffers > LARGEST_BYTES && heldBytes() > LARGEST_BYTES;
}

const CALLS_BETWEEN_LOOKS = 32; // our choice: a look costs about as much as a call
let calls = 0;
let rejected = ''; // what an async function of the strategy threw, since the last answer

onUnhandled((reason) => {
  rejected ||= `failed\na promise was rejected: ${description?.complaint(reason) ?? 'before anything was loaded'}`;
});

onMessage((message) => {
  let answer;
  try {
    answer = answered(message);
    if (++calls % CALLS_BETWEEN_LOOKS === 0 && tooManyBytes()) {
      answer = { reply: `failed\nholds more than ${LARGEST_BYTES / 1e6} MB` };
    }
  } catch (error) {
    answer = { reply: `failed\n${error instanceof Error ? error.message : 'it cannot go on'}` };
  }
  afterRejections(() => {
    const { user, system } = cpuUsage();
    const reply = rejected !== '' && answer.reply.startsWith('ok') ? rejected : answer.reply;
    rejected = '';
    send({ outputs: [], ...answer, reply, spentMs: (user + system) / 1000 });
  });
});
