/** Use case: where the next shots would make new pairs. */
import type { Contrast } from '../../shared/comparison.ts';
import type { Coverage, CoverageCell, CoverageQuery } from '../../shared/coverage.ts';
import { Refusal } from '../../shared/refusal.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope, type Scope } from '../access/visibility.ts';
import { dataVersionOf, readDataVersion } from '../pooling/data-version.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { liveSourceOf } from '../pooling/live-source.ts';
import { loadLiveColumns } from '../pooling/load-columns.ts';
import type { Database } from '../store/database.ts';
import { chosen } from './effect-words.ts';
import { mapCoverage } from './map-coverage.ts';
import { sideWords } from './side-words.ts';

const mostNext = 10;

/**
 * The map of the live shots of a scope.
 * @throws Refusal 'unauthenticated', 'not-found' (scope), 'request-invalid' for a contrast that is not whole
 */
export async function readCoverage(db: Database, principal: Principal, query: CoverageQuery): Promise<Coverage> {
  permit(principal, 'readShared');
  const scope = requireScope(principal, query.scope);
  const contrast = contrastOf(query);
  const { digest, methodVersion, columns } = await shotsNow(db, scope);
  const steps = {
    tipOffset: query.tipOffsetStep,
    cueSpeed: query.cueSpeedStep,
    objectBallDistance: query.objectBallDistanceStep,
  };
  const { labs, cells, leftOut } = mapCoverage(columns, contrast, steps, query.lab ?? null);
  const sides = sideWords(contrast);
  return {
    contrast,
    sides,
    steps,
    labs: labs.map((lab) => ({ ...lab, sentence: sentenceOf(lab, cells, sides) })),
    cells: [...cells],
    next: mostWanted(cells).slice(0, mostNext),
    leftOut,
    dataVersion: digest,
    methodVersion,
  };
}

/** Columns with labels, and the version of the data that they are. */
async function shotsNow(db: Database, scope: Scope) {
  const live = liveSourceOf(db);
  if (live !== null) {
    const { versions, columns } = await live.columns.view(scope, await live.versions.read(), true);
    return { ...dataVersionOf(versions, scope), columns };
  }
  return db.transaction(
    async (tx) => ({ ...(await readDataVersion(tx, scope)), columns: await loadLiveColumns(tx, scope) }),
    { isolationLevel: 'repeatable read', accessMode: 'read only' },
  );
}

function contrastOf({ variable, at, grouping, first, second }: CoverageQuery): Contrast {
  if (grouping === undefined) {
    if (first !== undefined || second !== undefined) {
      throw new Refusal('request-invalid', 'first and second are values of a grouping, which is not named');
    }
    const by = variable ?? 'cueAcceleration';
    return at === undefined ? { kind: 'sign', variable: by } : { kind: 'threshold', variable: by, at };
  }
  if (variable !== undefined || at !== undefined) {
    throw new Refusal('request-invalid', 'a contrast is by a variable or by a grouping, not by both');
  }
  if (first === undefined || second === undefined || first === second) {
    throw new Refusal('request-invalid', `a contrast of ${grouping} needs two different values, first and second`);
  }
  return { kind: 'grouping', grouping, first, second };
}

const wantedIn = ({ firstWanted, secondWanted }: CoverageCell) => firstWanted + secondWanted;

/** Cells that want shots, most first; equal ones in the order of the map. */
function mostWanted(cells: readonly CoverageCell[]): CoverageCell[] {
  return cells.filter((cell) => wantedIn(cell) > 0).sort((a, b) => wantedIn(b) - wantedIn(a));
}

function sentenceOf(
  lab: { readonly lab: string; readonly pairs: number; readonly firstWanted: number; readonly secondWanted: number },
  cells: readonly CoverageCell[],
  sides: Coverage['sides'],
): string {
  const [best] = mostWanted(cells.filter((cell) => cell.lab === lab.lab));
  const has = `${lab.lab} has shots for ${lab.pairs} pairs`;
  if (best === undefined) return `${has}, and none to spare: new pairs need shots of both sides.`;
  const isFirst = best.firstWanted >= best.secondWanted;
  const where = `tip offset ${rounded(best.tipOffset.from, 4)} to ${rounded(best.tipOffset.to, 4)} and cue speed ${chosen('cueSpeed', best.cueSpeed.from)} to ${chosen('cueSpeed', best.cueSpeed.to)}`;
  const wanted = [
    ...(lab.firstWanted > 0 ? [`${lab.firstWanted} ${sides.first}`] : []),
    ...(lab.secondWanted > 0 ? [`${lab.secondWanted} ${sides.second}`] : []),
  ].join(' and ');
  return `${has}; ${wanted} would each make one more, most of them at ${where} (${Math.max(best.firstWanted, best.secondWanted)} ${isFirst ? sides.first : sides.second}).`;
}
