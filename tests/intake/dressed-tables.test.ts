/**
 * One table in every dress that spreadsheets and scripts give it: it is read as the same shots. And what is not read is
 * refused with what to do about it.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Fault } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { readCsv } from '../../src/intake/read/read-csv.ts';
import { chunked, inventedBook } from './invented.ts';

const header = ['label', 'rig', 'note', 'straight', 'contact_counted_frames', 'ball_speed[m/s]'];
const text = fc.constantFrom('plain', 'two\nlines', 'two\r\nlines', 'a "word"', 'a, b; c', 'tab\there', 'é µ °');
/** Not three digits after the mark: they may be thousands. */
const speed = fc.integer({ min: 10, max: 999 }).map((hundredths) => hundredths / 100);
const row = fc.tuple(text, fc.boolean(), fc.integer({ min: 0, max: 40 }), speed);

const dress = fc.record({
  mark: fc.constantFrom('', '\ufeff'),
  delimiter: fc.constantFrom(',', ';', '\t'),
  decimal: fc.constantFrom('.', ','),
  lineEnd: fc.constantFrom('\n', '\r\n', '\r'),
  quoteAll: fc.boolean(),
  booleans: fc.constantFrom(['true', 'false'], ['TRUE', 'FALSE'], ['yes', 'no'], ['True', 'False']),
  /** As programs write whole numbers in a column with missing values. */
  wholeWithPoint: fc.boolean(),
  names: fc.constantFrom(
    (name: string) => name,
    (name: string) => name.replace(/^./, (letter) => letter.toUpperCase()).replaceAll('_', ' '),
    (name: string) => ` ${name} `,
  ),
  emptyColumns: fc.nat(3),
  emptyRows: fc.nat(3),
  endsWithLine: fc.boolean(),
  size: fc.integer({ min: 1, max: 200 }),
});

describe('a table in the dress of a spreadsheet', () => {
  it('is read as the same shots: byte order mark, separators, decimal marks, line ends, quotes, empty rows and columns', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 5 }), dress, async (rows, worn) => {
        const { delimiter, lineEnd } = worn;
        // In a file separated by commas a decimal comma is refused; that is tested by itself.
        const decimal = delimiter === ',' ? '.' : worn.decimal;
        const whole = (value: number) => (worn.wholeWithPoint && decimal === '.' ? `${value}.0` : String(value));
        const quote = (cell: string) =>
          worn.quoteAll || /[",;\t\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;
        const line = (cells: readonly string[]) =>
          [...cells.map(quote), ...Array<string>(worn.emptyColumns).fill('')].join(delimiter);
        const lines = [
          line(header.map((name) => (name.includes('[') ? name : worn.names(name)))),
          ...rows.map(([note, straight, frames, ballSpeed], index) =>
            line([
              `s ${index}`,
              'main',
              note,
              worn.booleans[straight ? 0 : 1] as string,
              whole(frames),
              String(ballSpeed).replace('.', decimal),
            ]),
          ),
          ...Array<string>(worn.emptyRows).fill(delimiter.repeat(header.length - 1 + worn.emptyColumns)),
        ];
        const body = worn.mark + lines.join(lineEnd) + (worn.endsWithLine ? lineEnd : '');
        const read = [];
        for await (const { row: number, value, faults } of readCsv(chunked(body, worn.size), 10_000)) {
          read.push({ number, value, faults });
        }
        expect(read).toEqual(
          rows.map(([note, straight, countedFrames, ballSpeed], index) => ({
            number: index + 2,
            value: {
              label: `s ${index}`,
              rig: 'main',
              note,
              straight,
              contact: { countedFrames },
              ballSpeed: { value: ballSpeed, unit: 'm/s' },
            },
            faults: [],
          })),
        );
      }),
      { seed: 20_260_405, numRuns: 200 },
    );
  });
});

async function refusalOf(body: string | Uint8Array): Promise<Refusal> {
  try {
    for await (const _shot of readCsv(chunked(body, 9), 10_000));
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('the table was read');
}

describe('a table that cannot be read', () => {
  it.each([
    ['a line that names the separator', 'sep=;\r\nlabel;rig\r\n', /Take the line sep= out/],
    ['a title above the header row', 'Strokes of March,,\n,,\nlabel,rig,note\n', /take out what stands above/],
    ['an empty row above the header row', '\n\nlabel,rig\na,main\n', /take out what stands above/],
  ])('with %s says so once, with the remedy', async (_, body, remedy) => {
    const { code, faults } = await refusalOf(body);
    expect(code).toBe('request-invalid');
    expect(faults).toMatchObject([{ row: 1, remedy: expect.stringMatching(remedy) }]);
  });
  it.each([
    ['Cue speed (m/s)', 'write reported_cue_speed[m/s]'],
    ['tip height (in)', 'write tip_height[in]'],
    ['Date', 'write session_date'],
    ['labels', 'write label'],
    ['outcome', 'write outcome_ended'],
    ['humidity', 'Rename the column or leave it out'],
    ['', 'Give the column a name'],
  ])('for its column %j is told what to write', async (name, remedy) => {
    const { faults } = await refusalOf(`label,rig,${name},note\na,main,1,2\n`);
    expect(faults).toMatchObject([{ code: 'structure-invalid', row: 1, column: name === '' ? 'column 3' : name }]);
    expect(faults[0]?.remedy).toContain(remedy);
  });
  it('for a measure without unit is told how to write one', async () => {
    const { faults } = await refusalOf('label,rig,tip_height\n,,mm\na,main,3\n');
    expect(faults).toMatchObject([{ code: 'unit-unknown', expected: 'tip_height[mm]' }]);
  });
  it('names the line that is not UTF-8, and what wrote it so', async () => {
    const latin = await refusalOf(Buffer.from('label,rig,note\na,main,fine\nb,main,caf\u00e9\n', 'latin1'));
    expect(latin.message).toContain('Line 3 holds bytes that are not UTF-8');
    expect(latin.message).toContain('save it as UTF-8');
    expect((await refusalOf(Buffer.from('\ufefflabel,rig\n', 'utf16le'))).message).toContain('UTF-16');
    expect((await refusalOf('PK\u0003\u0004\u0014')).message).toContain('save the sheet as CSV');
  });
  it('names the row of a quote that is not closed, or stands where none can', async () => {
    const open = await refusalOf('label,rig,note\na,main,"\nb,main,\n');
    expect(open.message).toContain('A quote in row 2 is never closed');
    const stray = await refusalOf('label,rig,note\na,main,x\nb,main,5" tip\n');
    expect(stray.message).toContain('Row 3');
    expect(stray.message).toContain('with that quote doubled');
  });
});

describe('a cell that cannot be read', () => {
  const faultOf = async (column: string, cell: string): Promise<Fault | undefined> => {
    const { [column]: _, ...others } = { 'outcome_distance[cm]': '-30', outcome_ended: 'atRest' } as Record<
      string,
      string
    >;
    const names = ['label', 'rig', column, ...Object.keys(others)].join(';');
    const cells = ['a', 'main', cell, ...Object.values(others)].join(';');
    for await (const sent of readCsv(chunked(`${names}\n${cells}\n`), 10_000)) {
      return prepareShot(parseSentShot(sent), inventedBook(), null).faults[0];
    }
    return undefined;
  };
  it.each([
    ['ball_speed[m/s]', '2.4 m/s', 'its unit stands in the header'],
    ['ball_speed[m/s]', '#DIV/0!', 'mend the formula'],
    ['ball_speed[m/s]', 'n/a', 'Leave the cell empty'],
    ['ball_speed[m/s]', '\u22123', "Write minus as '-'"],
    ['ball_speed[m/s]', 'fast', 'what /v1/templates says'],
    ['session_date', '02.03.2026', 'Write year, month, day'],
    ['session_date', '3/2/26', 'Write year, month, day'],
    ['player', 'Anna Li', 'Give each person a code'],
    ['outcome_ended', 'at rest', 'write atRest'],
    ['outcome_ended', 'Stopped by hand', 'write stoppedByHand'],
    ['lab_flags', 'double_hit', 'write doubleHit'],
    ['tip_height_ring', '-2', 'without sign'],
  ])('%s with %j says what to do', async (column, cell, remedy) => {
    const fault = await faultOf(column, cell);
    expect(fault).toMatchObject({ row: 2, column });
    expect(fault?.remedy).toContain(remedy);
  });
  it('leaves a whole number with a point and a zero to mean that number, and nothing else', async () => {
    expect(await faultOf('contact_counted_frames', '4.0')).toBeUndefined();
    for (const cell of ['4.5', '4.00', '1.000', '4,0']) {
      expect(await faultOf('contact_counted_frames', cell)).toMatchObject({ column: 'contact_counted_frames' });
    }
  });
});
