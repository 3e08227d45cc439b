/** The fields of the query type: read the arguments, call one use case. */
import { filterSchema, variableSchema } from '../../../shared/analysis.ts';
import { comparisonSpecificationSchema } from '../../../shared/comparison.ts';
import { flagNames, flags } from '../../../shared/flags.ts';
import { quantities } from '../../../shared/quantities.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { regressionSpecificationSchema } from '../../../shared/regression.ts';
import { getLab, listLabs } from '../../access/labs.ts';
import { permit } from '../../access/permissions.ts';
import { requireScope } from '../../access/visibility.ts';
import { askComparison } from '../../comparison/ask-comparison.ts';
import { listMargins } from '../../comparison/margins.ts';
import { getShot } from '../../intake/shots.ts';
import { askRegression } from '../../pooling/ask-regression.ts';
import { askScatter } from '../../pooling/ask-scatter.ts';
import { readDataVersion } from '../../pooling/data-version.ts';
import { getDataset, listDatasets } from '../../releases/datasets.ts';
import { getRelease, newestReleases } from '../../releases/releases.ts';
import type { RequestContext } from '../context.ts';
import { connectionOf, readCursor, writeCursor } from '../cursor.ts';
import { checkFirst, parseArgument } from '../inputs.ts';
import { listShots, type ShotsArguments, shotNodeOf } from './shots.ts';

type Root = unknown;

const uuid = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i;

/** What does not exist for the caller is null where one thing was asked for by its name. */
async function orNull<Value>(found: Promise<Value>): Promise<Value | null> {
  try {
    return await found;
  } catch (error) {
    if (error instanceof Refusal && error.code === 'not-found') return null;
    throw error;
  }
}

/** @throws Refusal request-invalid */
function checkCells(name: string, cells: number): number {
  if (cells >= 1 && cells <= 100) return cells;
  throw new Refusal('request-invalid', `${name} is ${cells}; it must be from 1 to 100.`);
}

export const queryResolvers = {
  labs: (_: Root, _arguments: unknown, { db, principal }: RequestContext) => listLabs(db, principal),
  lab: (_: Root, { slug }: { slug: string }, { db, principal }: RequestContext) => orNull(getLab(db, principal, slug)),
  shots: (_: Root, asked: ShotsArguments, { db, principal }: RequestContext) => listShots(db, principal, asked),
  shot: async (_: Root, { id }: { id: string }, { db, principal }: RequestContext) => {
    permit(principal, 'readShared');
    const found = uuid.test(id) ? await orNull(getShot(db, principal, id)) : null;
    return found === null ? null : shotNodeOf(found);
  },
  trend: (_: Root, { specification }: { specification: unknown }, { db, principal }: RequestContext) =>
    askRegression(db, principal, parseArgument(regressionSpecificationSchema, 'specification', specification)),
  comparison: (_: Root, { specification }: { specification: unknown }, { db, principal }: RequestContext) =>
    askComparison(db, principal, parseArgument(comparisonSpecificationSchema, 'specification', specification)),
  scatter: (
    _: Root,
    asked: { x: string; y: string; columns: number; rows: number; filter?: unknown; scope: string },
    { db, principal }: RequestContext,
  ) =>
    askScatter(db, principal, {
      x: variableSchema.parse(asked.x),
      y: variableSchema.parse(asked.y),
      columns: checkCells('columns', asked.columns),
      rows: checkCells('rows', asked.rows),
      filter: parseArgument(filterSchema, 'filter', asked.filter ?? {}),
      scope: asked.scope,
    }),
  margins: (_: Root, _arguments: unknown, { db, principal }: RequestContext) => listMargins(db, principal),
  datasets: (_: Root, _arguments: unknown, { db, principal }: RequestContext) => listDatasets(db, principal),
  dataset: (_: Root, { slug }: { slug: string }, { db, principal }: RequestContext) =>
    orNull(getDataset(db, principal, slug)),
  releases: async (
    _: Root,
    { first, after }: { first: number; after?: string | null },
    { db, principal }: RequestContext,
  ) => {
    const limit = checkFirst(first);
    const place = after === null || after === undefined ? null : releasePlaceOf(after);
    const rows = await newestReleases(db, principal, { after: place, limit: limit + 1 });
    return connectionOf(rows, limit, ({ frozenAt, dataset, number }) => writeCursor([frozenAt, dataset, number]));
  },
  release: (_: Root, { reference }: { reference: string }, { db, principal }: RequestContext) =>
    orNull(getRelease(db, principal, reference)),
  quantities: () => Object.values(quantities),
  flags: () => flagNames.map((name) => ({ name, ...flags[name] })),
  dataVersion: async (_: Root, { scope }: { scope: string }, { db, principal }: RequestContext) => {
    permit(principal, 'readShared');
    return (await readDataVersion(db, requireScope(principal, scope))).digest;
  },
};

function releasePlaceOf(cursor: string) {
  const [frozenAt, dataset, number] = readCursor(cursor, ['instant', 'text', 'count']);
  return { frozenAt: frozenAt as string, dataset: dataset as string, number: number as number };
}
