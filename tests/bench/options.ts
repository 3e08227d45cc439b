/** What the command takes. */
import { parseArgs } from 'node:util';
import { type RowName, rowNames } from './row-names.ts';

export interface BenchOptions {
  /** Shots in the hot table; null takes what suits the database. */
  readonly shots: number | null;
  readonly uploadMegabytes: number;
  readonly only: readonly RowName[];
  /** Take the embedded database although there is a PostgreSQL. */
  readonly embedded: boolean;
}

export const helpText = `npm run bench -- [options]

Measures the work of this server beside a stated floor in the same run, interleaved, after a warm-up, and prints the
medians and their ratio. Nothing here is a test: it ends with 0 unless a row failed to run, over budget or not.

  --shots NUMBER      shots in the pooled table (default 100000 on PostgreSQL, 20000 on the embedded database;
                      1000000 is the full size of the budget and takes several minutes)
  --upload-mb NUMBER  size of the upload whose memory is watched (default 60)
  --only NAMES        rows to run, separated by commas: ${rowNames.join(', ')}
  --embedded          measure the embedded database although there is a PostgreSQL
  --help              this text

The database is the one of DATABASE_URL or TEST_DATABASE_URL (databases named shot_commons_bench_... are made there and
removed), else a PostgreSQL found on this machine and started for the run, else the embedded one.
`;

/** @throws Error with what is wrong and what is expected */
export function readOptions(commandLine: readonly string[]): BenchOptions | 'help' {
  const { values } = parseArgs({
    args: [...commandLine],
    options: {
      shots: { type: 'string' },
      'upload-mb': { type: 'string', default: '60' },
      only: { type: 'string', default: rowNames.join(',') },
      embedded: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  });
  if (values.help) return 'help';
  return {
    shots: values.shots === undefined ? null : wholeNumber('--shots', values.shots, 1200),
    uploadMegabytes: wholeNumber('--upload-mb', values['upload-mb'], 1),
    only: values.only.split(',').map(rowName),
    embedded: values.embedded,
  };
}

function wholeNumber(option: string, text: string, least: number): number {
  const value = Number(text);
  if (Number.isSafeInteger(value) && value >= least) return value;
  throw new Error(`${option} takes a whole number from ${least} up, not '${text}'.`);
}

function rowName(text: string): RowName {
  const found = rowNames.find((name) => name === text.trim());
  if (found === undefined) throw new Error(`--only knows ${rowNames.join(', ')}, not '${text.trim()}'.`);
  return found;
}
