/** A thread for tests: answers each number with its double, and text with what a module of the source makes of it. */
import { parentPort, workerData } from 'node:worker_threads';
import { sha256Hex } from '../../src/pooling/canonical.ts';

const { factor } = workerData as { readonly factor: number };

parentPort?.on('message', (sent: number | string) => {
  parentPort?.postMessage(typeof sent === 'number' ? factor * sent : sha256Hex(sent));
});
