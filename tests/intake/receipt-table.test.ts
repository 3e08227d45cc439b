/** Receipts as tables for a spreadsheet, and as lines for a script. */
import { parse } from 'csv-parse/sync';
import { beforeAll, describe, expect, it } from 'vitest';
import { receiptLines, receiptTable } from '../../src/intake/receipt-table.ts';
import { safeCell } from '../../src/intake/safe-cell.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from './invented.ts';

describe('safeCell', () => {
  it('lets no text of a sender start a formula', () => {
    for (const text of ['=1+1', '+cmd', '-x', '@sum(a1)', '\tx', '=HYPERLINK("http://x")', '-1+1', '+']) {
      expect(safeCell(text)).toBe(`'${text}`);
    }
  });
  it('leaves numbers, harmless text and gaps as they are', () => {
    expect([-3.5, '-3.5', '+2', '-1e-7', 'shot = 1', '', null, true].map(safeCell)).toEqual([
      '-3.5',
      '-3.5',
      '+2',
      '-1e-7',
      'shot = 1',
      '',
      '',
      'true',
    ]);
  });
});

async function textOf(parts: AsyncIterable<string>): Promise<string> {
  let text = '';
  for await (const part of parts) text += part;
  return text;
}

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  let id: string;
  beforeAll(async () => {
    db = open().db;
    north = await makeLab(db, await makeCurator(db), 'north');
    await registerGear(db, north.lead, 'north');
    const shots = [
      goodShot('=danger', { shared: true }),
      goodShot('two-faults', {
        contact: { closedFrame: 200, openFrame: 190 },
        objectBallDistance: { value: 80, unit: 'm' },
      }),
      ...Array.from({ length: 501 }, (_, index) => goodShot(`n-${index}`, { rig: 'lost' })),
    ];
    id = (await send(db, north, shots, { accept: 'valid' })).receipt.submission;
  });

  it('has one line per problem, one for a shot without any, and no formula', async () => {
    const text = await textOf(await receiptTable(db, north.lead, id));
    const rows = parse(text, { columns: true }) as Record<string, string>[];
    expect(rows).toHaveLength(1 + 2 + 501);
    expect(rows[0]).toMatchObject({ position: '1', label: "'=danger", state: 'created', problem: '' });
    expect(Number(rows[0]?.['cue_speed[m/s]'])).toBeGreaterThan(2);
    expect(Number(rows[0]?.['tip_offset[1]'])).toBeLessThan(0);
    const faulty = rows.filter(({ label }) => label === 'two-faults');
    expect(new Set(faulty.map(({ problem }) => problem))).toEqual(new Set(['contact-frames-order', 'limit-exceeded']));
    for (const row of faulty) {
      expect(row).toMatchObject({ state: 'rejected', row: '2', shot: '' });
      expect(row.remedy?.length).toBeGreaterThan(10);
    }
  });
  it('gives every shot as a line of JSON, in the order sent', async () => {
    const lines = (await textOf(await receiptLines(db, north.lead, id))).trimEnd().split('\n');
    const positions = lines.map((line) => (JSON.parse(line) as { position: number }).position);
    expect(positions).toEqual(Array.from({ length: 503 }, (_, index) => index + 1));
  });
});
