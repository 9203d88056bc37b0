// A thread that passes calls on to the sandbox and its replies back, so that the caller can wait for them. Plain
// JavaScript, because a thread does not inherit the loader of TypeScript.
import { spawn } from 'node:child_process';
import { workerData } from 'node:worker_threads';

const { state, port, command } = workerData;
const child = spawn(command[0], command.slice(1), {
  env: {},
  cwd: '/',
  serialization: 'advanced',
  stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
});

function answer(message) {
  port.postMessage(message);
  Atomics.store(state, 0, 1);
  Atomics.notify(state, 0);
}

Atomics.store(state, 1, child.pid ?? 0);
child.on('message', answer);
child.on('exit', (code, signal) => answer({ gone: signal ?? `exit code ${code}` }));
child.on('error', (error) => answer({ gone: error.message }));
port.on('message', (message) => {
  if (child.connected) child.send(message);
  else answer({ gone: 'it has ended' });
});
