/** Exact matching of seeded sets, each size in a process of its own so that its memory can be told. */
import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import type { MeasureRow } from '../bench.ts';
import { type Spread, spreads } from '../made/matching-points.ts';
import { digits, megabytes, milliseconds, type Row } from '../report.ts';

export interface MatchingFigures {
  readonly milliseconds: number;
  readonly candidates: number;
  readonly pairs: number;
  readonly residentBefore: number;
  readonly residentPeak: number;
}

const cases = [
  { size: 2000, most: null },
  { size: 10_000, most: 2000 },
  { size: 50_000, most: 20_000 },
] as const;
const mostBytes = 1e9;

export const measureMatching: MeasureRow = async ({ note }): Promise<Row[]> => {
  const rows: Row[] = [];
  for (const spread of spreads) {
    for (const { size, most } of cases) {
      note(`matching ${size} with ${size}, ${spread}`);
      rows.push(rowOf(spread, size, most, await inOwnProcess(spread, size)));
    }
  }
  return rows;
};

async function inOwnProcess(spread: Spread, size: number): Promise<MatchingFigures> {
  const program = fileURLToPath(new URL('../matching-process.ts', import.meta.url));
  const { stdout } = await promisify(execFile)(process.execPath, [...process.execArgv, program, spread, String(size)]);
  return JSON.parse(stdout) as MatchingFigures;
}

function rowOf(spread: Spread, size: number, most: number | null, figures: MatchingFigures): Row {
  const { candidates, pairs, residentBefore, residentPeak } = figures;
  return {
    work: `exact matching, ${size} with ${size}, ${spread === 'uniform' ? 'uniform' : 'clustered 3:1'}`,
    floor: null,
    figure: milliseconds(figures.milliseconds),
    floorFigure: null,
    ratio: null,
    budget: most === null ? 'none' : `< ${milliseconds(most)}, < ${megabytes(mostBytes)}`,
    within: most === null || (figures.milliseconds < most && residentPeak < mostBytes),
    parts: [
      `${digits(candidates)} candidates each, ${pairs} pairs, resident memory ${megabytes(residentPeak)} at most, ${megabytes(residentBefore)} before`,
    ],
  };
}
