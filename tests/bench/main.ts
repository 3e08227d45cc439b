/** `npm run bench`: the work of this server beside a floor measured in the same run. */

import type { Bench, MeasureRow } from './bench.ts';
import { type BenchServer, findBenchServer } from './bench-database.ts';
import { machineText } from './machine.ts';
import { poolDatabase } from './made/pool-database.ts';
import { type BenchOptions, helpText, readOptions } from './options.ts';
import { heading, textOf } from './report.ts';
import { type RowName, rowNames } from './row-names.ts';
import { measureDerivation } from './rows/derivation.ts';
import { measureFirstQuestion } from './rows/first-question.ts';
import { measureInR } from './rows/in-r.ts';
import { measureIntake } from './rows/intake.ts';
import { measureIntakeMemory } from './rows/intake-memory.ts';
import { measureMatching } from './rows/matching.ts';
import { measureMatchingHealth } from './rows/matching-health.ts';
import { measureRegression } from './rows/regression.ts';
import { measureSameGet } from './rows/same-get.ts';
import { measureStart } from './rows/start.ts';
import { buildService, type ServiceProgram } from './service/service-program.ts';

const rows: Readonly<Record<RowName, MeasureRow>> = {
  derivation: measureDerivation,
  matching: measureMatching,
  'matching-health': measureMatchingHealth,
  regression: measureRegression,
  'first-question': measureFirstQuestion,
  'in-r': measureInR,
  'same-get': measureSameGet,
  intake: measureIntake,
  'intake-memory': measureIntakeMemory,
  start: measureStart,
};

async function main(): Promise<void> {
  const options = readOptions(process.argv.slice(2));
  if (options === 'help') {
    process.stdout.write(helpText);
    return;
  }
  const server = await findBenchServer(options.embedded);
  try {
    await runRows(makeBench(options, server));
  } finally {
    await server.stop();
  }
}

function makeBench(options: BenchOptions, server: BenchServer): Bench {
  const shots = options.shots ?? (server.kind === 'embedded' ? 20_000 : 100_000);
  const note = (text: string) => process.stderr.write(`... ${text}\n`);
  let program: Promise<ServiceProgram> | undefined;
  let pool: ReturnType<Bench['pool']> | undefined;
  return {
    options,
    server,
    shots,
    note,
    program: () => {
      program ??= buildService(note);
      return program;
    },
    pool: () => {
      pool ??= poolDatabase(server, shots, note);
      return pool;
    },
  };
}

async function runRows(bench: Bench): Promise<void> {
  const { options, server } = bench;
  const print = (text: string) => process.stdout.write(`${text}\n`);
  for (const line of machineText()) print(line);
  print(`database   ${server.description}`);
  print(`\n${heading}`);
  for (const name of rowNames.filter((each) => options.only.includes(each))) {
    try {
      for (const row of [await rows[name](bench)].flat()) print(textOf(row));
    } catch (error) {
      process.exitCode = 1;
      print(`${name} | FAILED TO RUN: ${error instanceof Error ? error.message : String(error)}`);
    }
  }
}

try {
  await main();
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = 1;
}
