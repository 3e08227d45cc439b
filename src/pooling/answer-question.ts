/** The way of every question: check the scope, fix the data version, serve what was answered before, else compute. */
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope, type Scope } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { analysisId, specificationDigest } from './canonical.ts';
import type { ShotColumns } from './columns.ts';
import { readDataVersion } from './data-version.ts';
import type { KeptReleases } from './kept-releases.ts';
import { liveSourceOf } from './live-source.ts';
import { loadLiveColumns } from './load-columns.ts';
import { findReleaseSource, loadReleaseColumns } from './load-release-columns.ts';
import type { AnalysisBase } from './run-regression.ts';
import {
  type AnalysisResult,
  isStored,
  requireAnalysis,
  type StoredAnalysis,
  storeAnalysis,
} from './stored-analysis.ts';

type Specification = RegressionSpecification | ComparisonSpecification;

/** A question that nobody has answered yet, with all that its answer is computed from. */
export interface OpenQuestion<Asked extends Specification> {
  readonly id: string;
  readonly scope: Scope;
  readonly specification: Asked;
  readonly base: AnalysisBase;
  readonly columns: ShotColumns;
}

/**
 * Fixes what a question is answered from; an answer that is stored already needs no columns.
 * @param asked in its canonical form
 * @throws Refusal 'unauthenticated', 'not-found' (scope or release)
 */
export async function openQuestion<Asked extends Specification>(
  db: Database,
  principal: Principal,
  asked: Asked,
): Promise<OpenQuestion<Asked> | { readonly stored: string }> {
  permit(principal, 'readShared');
  const scope = requireScope(principal, asked.scope);
  return db.transaction(
    async (tx) => {
      const { specification, base, load } = await fixSource(tx, asked, liveSourceOf(db)?.releases ?? null);
      const id = analysisId({ specificationDigest: base.specificationDigest, scope, dataVersion: base.dataVersion });
      if (await isStored(tx, id)) return { stored: id };
      return { id, scope, specification, base, columns: await load() };
    },
    // One snapshot for the data version and all batches of shots.
    { isolationLevel: 'repeatable read', accessMode: 'read only' },
  );
}

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
  const question = await openQuestion(db, principal, asked);
  if ('stored' in question) return requireAnalysis(db, question.stored);
  const { id, scope, specification, base, columns } = question;
  return storeAnalysis(db, { id, scope, result: run(columns, specification, base) });
}

async function fixSource<Asked extends Specification>(tx: Transaction, asked: Asked, releases: KeptReleases | null) {
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
    load: () => {
      const load = async () => (await loadReleaseColumns(tx, reference)).columns;
      return releases === null ? load() : releases.columns(digest, load);
    },
  };
}
