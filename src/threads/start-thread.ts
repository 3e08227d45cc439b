/**
 * Starts a module of this project in a worker thread. The same call works from the sources (tsx, vitest) and from the
 * built files: in the sources the thread learns TypeScript first, as Node 20 does not read it.
 *
 *   const thread = startThread(threadModule('./count-thread', import.meta.url), { workerData });
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { Worker, type WorkerOptions } from 'node:worker_threads';

/**
 * Address of a module that is to run in a thread.
 * @param path relative to the caller's file, without extension
 * @param from import.meta.url of the caller
 */
export function threadModule(path: string, from: string): URL {
  return new URL(`${path}.${isSource(from) ? 'ts' : 'js'}`, from);
}

/**
 * Starts the thread; the module finds `workerData` and `parentPort` in node:worker_threads.
 * @param module from `threadModule`
 */
export function startThread(module: URL, options: WorkerOptions = {}): Worker {
  if (!isSource(module.href)) return new Worker(module, options);
  // `--import` comes too late for the first file of a thread on Node 20.
  const code = `import(${JSON.stringify(typescriptLoader())}).then(({ register }) => {
    register();
    return import(${JSON.stringify(module.href)});
  })`;
  return new Worker(code, { ...options, eval: true });
}

function isSource(address: string): boolean {
  return new URL(address).pathname.endsWith('.ts');
}

/** The module interface of the loader. Its package gives `require` another file, which does not load in a thread. */
function typescriptLoader(): string {
  const manifest = createRequire(import.meta.url).resolve('tsx/package.json');
  const { exports } = JSON.parse(readFileSync(manifest, 'utf8')) as {
    exports: { './esm/api': { import: { default: string } } };
  };
  return new URL(exports['./esm/api'].import.default, pathToFileURL(manifest)).href;
}
