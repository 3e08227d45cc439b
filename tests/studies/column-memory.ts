/**
 * Memory of a server that answers over many shots: idle, after the first question, and at most while it is answered.
 *   npx tsx tests/studies/column-memory.ts 1000000 5000000
 */
import { findBenchServer } from '../bench/bench-database.ts';
import { poolDatabase } from '../bench/made/pool-database.ts';
import { peakResidentBytes, residentBytes } from '../bench/resident-memory.ts';
import { startService } from '../bench/service/running-service.ts';
import { buildService } from '../bench/service/service-program.ts';

const link = '/v1/regression?response=contactTime&terms=cueSpeed,cueAcceleration,tipOffset';
const note = (text: string) => process.stderr.write(`... ${text}\n`);
const megabytes = (bytes: number) => `${Math.round(bytes / 1e6)} MB`;

const program = await buildService(note);
const server = await findBenchServer();
process.stdout.write(`${program.description}; ${server.description}\n\n`);
process.stdout.write('| shots | memory for columns | idle | first answer | at most | bytes a shot | seconds |\n');
process.stdout.write('| --- | --- | --- | --- | --- | --- | --- |\n');
try {
  for (const shots of process.argv.slice(2).map(Number)) {
    const database = await poolDatabase(server, shots, note);
    for (const budget of ['8000', '0']) {
      const service = await startService(program, database, { COLUMN_MEMORY_MEGABYTES: budget });
      await service.ask('GET', '/v1/labs');
      const idle = residentBytes(service.pid);
      const begun = performance.now();
      // A question of its own for each server: the answer of the other one is stored.
      const peak = await peakResidentBytes(service.pid, async () => {
        await service.ask('GET', `${link}&confidence=0.9${budget.length}`);
      });
      const seconds = (performance.now() - begun) / 1000;
      const after = residentBytes(service.pid);
      const cells = [
        shots,
        budget === '0' ? 'none' : 'enough',
        megabytes(idle),
        megabytes(after),
        megabytes(peak),
        Math.round((after - idle) / shots),
        seconds.toFixed(1),
      ];
      process.stdout.write(`| ${cells.join(' | ')} |\n`);
      await service.stop();
    }
  }
} finally {
  await server.stop();
}
