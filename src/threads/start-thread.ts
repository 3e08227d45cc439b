/** Worker threads from a module of this source, wherever it runs from: the built program, tsx, or a test. */
import { Worker, type WorkerOptions } from 'node:worker_threads';

const builtProgram = import.meta.url.endsWith('.js');

/**
 * Starts a module in a thread of its own.
 *
 * @param module as it is named in the source: `new URL('./count-points.ts', import.meta.url)`. The built program takes
 *   the .js beside it; from source, tsx reads the TypeScript, as it does for `npm run demo`
 */
export function startThread(module: URL, options: WorkerOptions = {}): Worker {
  if (builtProgram) return new Worker(builtModule(module), options);
  // On Node 20 a loader that is asked for by --import comes too late for the first module of a thread.
  const register = JSON.stringify(import.meta.resolve('tsx/esm/api'));
  const first = `import(${register}).then(({ register }) => { register(); return import(${JSON.stringify(module)}); });`;
  // What the parent was started with may be meant for it alone: a test runner passes flags that a thread refuses.
  return new Worker(first, { ...options, eval: true, execArgv: [] });
}

/** Where a module that is named as in the source lies in the program that runs. */
export function builtModule(module: URL): URL {
  return builtProgram ? new URL(module.href.replace(/\.ts$/, '.js')) : module;
}
