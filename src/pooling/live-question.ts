/** A question about live shots, answered from what the server keeps in memory. */
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import type { Scope } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { analysisId, specificationDigest } from './canonical.ts';
import type { LiveView } from './column-store/column-store.ts';
import { dataVersionOf } from './data-version.ts';
import type { LiveSource } from './live-source.ts';
import type { AnalysisBase } from './run-regression.ts';
import { isStored } from './stored-analysis.ts';
import type { Versions } from './version-book.ts';

type Specification = RegressionSpecification | ComparisonSpecification;

/**
 * What the question is answered from: versions as kept in memory, or as the database has them; then the shots, perhaps
 * of a newer state, whose version is then that of the answer.
 */
export async function openLiveQuestion(
  db: Database,
  { versions, columns }: LiveSource,
  scope: Scope,
  specification: Specification,
): Promise<{ stored: string } | { id: string; base: AnalysisBase; view: LiveView }> {
  const digest = specificationDigest(specification);
  const at = (state: Versions) => {
    const { digest: dataVersion, methodVersion } = dataVersionOf(state, scope);
    const base = { specificationDigest: digest, dataVersion, methodVersion };
    return { base, id: analysisId({ specificationDigest: digest, scope, dataVersion }) };
  };
  const known = await versions.read();
  const first = at(known);
  if (await isStored(db, first.id)) return { stored: first.id };
  const namesShots = !('terms' in specification) || specification.influence;
  const view = await columns.view(scope, known, namesShots);
  const { base, id } = at(view.versions);
  if (id !== first.id && (await isStored(db, id))) return { stored: id };
  return { id, base, view };
}
