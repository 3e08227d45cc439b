/** The way of every question: check the scope, fix the data version, serve what was answered before, else compute. */
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { analysisId, specificationDigest } from './canonical.ts';
import type { ShotColumns } from './columns.ts';
import { readDataVersion } from './data-version.ts';
import { loadLiveColumns } from './load-columns.ts';
import { findReleaseSource, loadReleaseColumns } from './load-release-columns.ts';
import type { AnalysisBase } from './run-regression.ts';
import { type AnalysisResult, findAnalysis, type StoredAnalysis, storeAnalysis } from './stored-analysis.ts';

type Specification = RegressionSpecification | ComparisonSpecification;

/**
 * Answers a question once: the same question on the same data is served from what is stored.
 * @param asked in its canonical form
 * @param run computes the answer from the columns; must be pure, given the specification
 * @throws Refusal 'unauthenticated', 'not-found' (scope or release), and what `run` throws
 */
export async function answerQuestion<Asked extends Specification>(
  db: Database,
  principal: Principal,
  asked: Asked,
  run: (columns: ShotColumns, specification: Asked, base: AnalysisBase) => AnalysisResult,
): Promise<StoredAnalysis> {
  permit(principal, 'readShared');
  const scope = requireScope(principal, asked.scope);
  const prepared = await db.transaction(
    async (tx) => {
      const { specification, base, load } = await fixSource(tx, asked);
      const id = analysisId({ specificationDigest: base.specificationDigest, scope, dataVersion: base.dataVersion });
      const stored = await findAnalysis(tx, id);
      return stored === null ? { id, specification, base, columns: await load() } : { stored };
    },
    // One snapshot for the data version and all batches of shots.
    { isolationLevel: 'repeatable read', accessMode: 'read only' },
  );
  if ('stored' in prepared && prepared.stored !== undefined) return prepared.stored;
  const { id, specification, base, columns } = prepared;
  return storeAnalysis(db, { id, scope, result: run(columns, specification, base) });
}

async function fixSource<Asked extends Specification>(tx: Transaction, asked: Asked) {
  if (asked.source === 'live') {
    const { digest, methodVersion } = await readDataVersion(tx, asked.scope);
    return {
      specification: asked,
      base: { specificationDigest: specificationDigest(asked), dataVersion: digest, methodVersion },
      load: () => loadLiveColumns(tx, asked.scope),
    };
  }
  const { reference, digest, methodVersion } = await findReleaseSource(tx, asked.source.release);
  // A release may be named in two ways; the question is the same.
  const specification = { ...asked, source: { release: reference } };
  return {
    specification,
    base: { specificationDigest: specificationDigest(specification), dataVersion: digest, methodVersion },
    load: async () => (await loadReleaseColumns(tx, reference)).columns,
  };
}
