/** `npm run demo`: the report, then a service to ask. `-- --once` stops after the report; `-- --port N` fixes the port. */
import { parseArgs } from 'node:util';
import closeWithGrace from 'close-with-grace';
import { heading, wrapped } from './report/plain-text.ts';
import { reportTry } from './report/report-try.ts';
import { runDemo } from './run-demo.ts';
import { startService } from './start-service.ts';

function print(lines: readonly string[]): void {
  process.stdout.write(`${lines.join('\n')}\n`);
}

async function main(): Promise<void> {
  const begun = performance.now();
  const { values } = parseArgs({
    options: { once: { type: 'boolean', default: false }, port: { type: 'string', default: '0' } },
  });
  const service = await startService(Number(values.port));
  closeWithGrace({ delay: 20_000 }, () => service.close());
  try {
    print([
      ...heading('Shot Commons: a demonstration with invented labs').slice(1),
      ...wrapped(`The real service answers at ${service.address}, on an ${service.description}`),
      ...wrapped('Labs, players and shots are invented; the same seed gives the same shots on every run.'),
    ]);
    const { readerToken, release } = await runDemo(service.address, service.curatorToken, print);
    print(['', `The report took ${((performance.now() - begun) / 1000).toFixed(1)} s.`]);
    if (values.once) await service.close();
    else print(reportTry(service.address, readerToken, release));
  } catch (error) {
    // Nothing of a failed run stays behind in the temporary directory.
    await service.close();
    throw error;
  }
}

try {
  await main();
} catch (error) {
  process.stderr.write(`${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`);
  process.exit(1);
}
