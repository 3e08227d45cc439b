/** Generated tables: valid, broken in one cell, broken in several; the faults name exactly the broken cells. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { readCsv } from '../../src/intake/read/read-csv.ts';
import { chunked, inventedBook } from './invented.ts';

/** Each column with a good cell and cells that are wrong there. */
const columns = [
  ['label', (row: number) => `shot ${row}`, ['', 'ä', 'a\u0007']],
  ['rig', () => 'main', ['', 'nowhere', 'Main']],
  ['player', () => 'P1', ['Jane Doe', '-']],
  ['session_date', () => '2026-03-01', ['1.3.2026', '2026-13-01']],
  ['object_ball_distance[m]', () => '0.8', ['99', 'far', 'NaN', '1e999']],
  ['contact_counted_frames', () => '4', ['4.5', 'four']],
  ['outcome_distance[cm]', () => '-30', ['-30 cm', '--3']],
  ['outcome_ended', () => 'atRest', ['stopped', '']],
  ['reported_cue_speed[m/s]', () => '2.5', ['900', '0.0000001', '2,5,5']],
  ['clip_link', () => 'https://films.example/1', ['films', 'ftp://films.example/1']],
  ['clip_sha256', () => 'a'.repeat(64), ['A'.repeat(64), 'abc']],
  ['straight', () => 'yes', ['perhaps', '1']],
] as const;

const rowCount = 6;
const wrongCell = fc.record({
  row: fc.nat(rowCount - 1),
  column: fc.nat(columns.length - 1),
  which: fc.nat(10),
});

async function faultyCells(text: string, size: number): Promise<string[]> {
  const places = new Set<string>();
  for await (const sent of readCsv(chunked(text, size), 10_000)) {
    for (const { row, column } of prepareShot(parseSentShot(sent), inventedBook(), null).faults) {
      places.add(`${row} ${column}`);
    }
  }
  return [...places].sort();
}

it('every broken cell is named by its row and column, and no other', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.uniqueArray(wrongCell, { maxLength: 8, selector: ({ row, column }) => row * 100 + column }),
      fc.constantFrom([',', '\n'] as const, [';', '\r\n'] as const),
      fc.integer({ min: 1, max: 300 }),
      async (broken, [delimiter, lineEnd], size) => {
        const cells = Array.from({ length: rowCount }, (_, row) => columns.map(([, good]) => good(row)));
        for (const { row, column, which } of broken) {
          const [, , wrong] = columns[column] ?? columns[0];
          (cells[row] as string[])[column] = wrong[which % wrong.length] ?? '';
        }
        const quote = (cell: string) => (/[",;]/.test(cell) ? `"${cell}"` : cell);
        const rows = [columns.map(([header]) => header), ...cells];
        const text = rows.map((row) => row.map(quote).join(delimiter) + lineEnd).join('');
        const expected = broken.map(({ row, column }) => `${row + 2} ${columns[column]?.[0]}`).sort();
        // A rig that is not known leaves the limits of its shot unjudged.
        const unjudged = new Set(broken.filter(({ column }) => column === 1).map(({ row }) => row + 2));
        const found = await faultyCells(text, size);
        expect(expected).toEqual(expect.arrayContaining(found));
        const missed = expected.filter((place) => !found.includes(place));
        expect(missed.filter((place) => !unjudged.has(Number(place.split(' ')[0])))).toEqual([]);
      },
    ),
    { seed: 20_260_304, numRuns: 150 },
  );
});
