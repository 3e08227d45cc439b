/** A receipt as a table: one line per problem, and one for each shot without any. */
import { stringify } from 'csv-stringify/sync';
import type { Fault } from '../../shared/problems.ts';
import type { ReceiptShot } from '../../shared/submission.ts';
import type { Principal } from '../access/principal.ts';
import type { Database } from '../store/database.ts';
import { listReceiptShots } from './receipts.ts';
import { safeCell, type TableCell } from './safe-cell.ts';

type CellOf = (shot: ReceiptShot, fault: Fault | null) => TableCell;

/** Derived values are in SI, as everywhere in the interface. */
const columns: readonly (readonly [string, CellOf])[] = [
  ['position', ({ position }) => position],
  ['label', ({ label }) => label],
  ['state', ({ state }) => state],
  ['shot', ({ shot }) => shot],
  ['revision', ({ revision }) => revision],
  ['problem', (_shot, fault) => fault?.code ?? null],
  ['row', (_shot, fault) => fault?.row ?? null],
  ['column', (_shot, fault) => fault?.column ?? null],
  ['pointer', (_shot, fault) => fault?.pointer ?? null],
  ['found', (_shot, fault) => fault?.found ?? null],
  ['expected', (_shot, fault) => fault?.expected ?? null],
  ['remedy', (_shot, fault) => fault?.remedy ?? null],
  ['cue_speed[m/s]', ({ derived }) => derived?.cueSpeed?.value ?? null],
  ['cue_speed_uncertainty[m/s]', ({ derived }) => derived?.cueSpeed?.standardUncertainty ?? null],
  ['cue_acceleration[m/s2]', ({ derived }) => derived?.cueAcceleration?.value ?? null],
  ['cue_acceleration_uncertainty[m/s2]', ({ derived }) => derived?.cueAcceleration?.standardUncertainty ?? null],
  ['contact_time[s]', ({ derived }) => derived?.contactTime?.value ?? null],
  ['contact_time_uncertainty[s]', ({ derived }) => derived?.contactTime?.standardUncertainty ?? null],
  ['tip_offset[1]', ({ derived }) => derived?.tipOffset?.value ?? null],
  ['tip_offset_uncertainty[1]', ({ derived }) => derived?.tipOffset?.standardUncertainty ?? null],
  ['outcome_distance[m]', ({ derived }) => derived?.outcomeDistance?.value ?? null],
  ['flags', ({ derived }) => derived?.flags.join(' ') ?? null],
];

const pageShots = 500;

/** The shots of a submission page by page, in the order sent; the first page is read before anything is answered. */
async function openPages(
  db: Database,
  principal: Principal,
  id: string,
): Promise<AsyncGenerator<readonly ReceiptShot[]>> {
  const first = await listReceiptShots(db, principal, id, { limit: pageShots });
  return (async function* () {
    yield first.shots;
    for (let after = first.next; after !== null; ) {
      const page = await listReceiptShots(db, principal, id, { after, limit: pageShots });
      yield page.shots;
      after = page.next;
    }
  })();
}

async function* linesOf(
  pages: AsyncIterable<readonly ReceiptShot[]>,
  header: string,
  text: (page: readonly ReceiptShot[]) => string,
): AsyncGenerator<string> {
  if (header !== '') yield header;
  for await (const page of pages) yield text(page);
}

function rows(page: readonly ReceiptShot[]): string[][] {
  return page.flatMap((shot) => {
    const faults = shot.faults.length === 0 ? [null] : shot.faults;
    return faults.map((fault) => columns.map(([, cell]) => safeCell(cell(shot, fault))));
  });
}

const csvText = (records: readonly (readonly string[])[]): string =>
  stringify([...records] as string[][], { record_delimiter: 'windows' });

/**
 * CSV (RFC 4180) of a receipt.
 *
 * @throws Refusal not-found, before the first line
 */
export async function receiptTable(db: Database, principal: Principal, id: string): Promise<AsyncGenerator<string>> {
  const pages = await openPages(db, principal, id);
  return linesOf(pages, csvText([columns.map(([name]) => name)]), (page) => csvText(rows(page)));
}

/**
 * NDJSON of a receipt: one shot a line.
 *
 * @throws Refusal not-found, before the first line
 */
export async function receiptLines(db: Database, principal: Principal, id: string): Promise<AsyncGenerator<string>> {
  const pages = await openPages(db, principal, id);
  return linesOf(pages, '', (page) => page.map((shot) => `${JSON.stringify(shot)}\n`).join(''));
}
