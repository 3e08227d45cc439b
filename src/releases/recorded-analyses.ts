/**
 * The analyses recorded with a release: questions asked of the frozen shots, with answers that hold nothing of the
 * server. The release itself is the source, a margin is known by the digest of what was declared, and the share of
 * judged shots received after its declaration is kept as a fact, because a release holds no clock times.
 */
import { z } from 'zod';
import { variableSchema } from '../../shared/analysis.ts';
import {
  type ComparisonResult,
  type ComparisonSpecification,
  comparisonResultSchema,
} from '../../shared/comparison.ts';
import {
  type RegressionResult,
  type RegressionSpecification,
  regressionResultSchema,
} from '../../shared/regression.ts';
import type { RecordedQuestion } from '../../shared/release.ts';
import { runComparison } from '../comparison/run-comparison.ts';
import { canonicalJson, sha256Hex, specificationDigest } from '../pooling/canonical.ts';
import { canonicalComparison, canonicalRegression } from '../pooling/canonical-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { runRegression } from '../pooling/run-regression.ts';
import type { ReleaseIdentity } from './frozen-shot.ts';

export const analysesFileName = 'analyses.json';

export const frozenMarginSchema = z.strictObject({
  id: z.string(),
  variable: variableSchema,
  value: z.number().positive(),
  reason: z.string(),
});
export type FrozenMargin = z.infer<typeof frozenMarginSchema>;

export const analysesFileSchema = z.strictObject({
  margins: z.array(frozenMarginSchema),
  analyses: z.array(
    z.strictObject({
      shareReceivedAfter: z.number().min(0).max(1).nullable(),
      result: z.discriminatedUnion('kind', [regressionResultSchema, comparisonResultSchema]),
    }),
  ),
});
export type AnalysesFile = z.infer<typeof analysesFileSchema>;
export type RecordedAnalysis = AnalysesFile['analyses'][number];

/** A margin as a release knows it: its id is the SHA-256 of what was declared. */
export function freezeMargin(margin: Omit<FrozenMargin, 'id'>): FrozenMargin {
  const { variable, value, reason } = margin;
  return { id: sha256Hex(canonicalJson({ variable, value, reason })), variable, value, reason };
}

/** The question in its one form, asked of the release. */
export function questionOfRelease(question: RecordedQuestion, identity: ReleaseIdentity): RecordedQuestion {
  const source = { release: `${identity.dataset}@${identity.number}` };
  return question.kind === 'regression'
    ? { kind: 'regression', specification: canonicalRegression({ ...question.specification, source }) }
    : { kind: 'comparison', specification: canonicalComparison({ ...question.specification, source }) };
}

/** What an answer says about where it comes from. */
export function baseOf(specification: RegressionSpecification | ComparisonSpecification, identity: ReleaseIdentity) {
  return {
    specificationDigest: specificationDigest(specification),
    dataVersion: `release:${identity.dataset}@${identity.number}`,
    methodVersion: identity.methodVersion,
  };
}

/** Answer of a regression. Throws Refusal not-estimable. */
export function answerRegression(
  columns: ShotColumns,
  specification: RegressionSpecification,
  identity: ReleaseIdentity,
): RegressionResult {
  return runRegression(columns, specification, baseOf(specification, identity));
}

/**
 * Answer of a comparison.
 * @param margin null when the specification names none
 * @param shareReceivedAfter share of the judged shots received after the margin was declared
 * @throws Refusal not-estimable
 */
export function answerComparison(
  columns: ShotColumns,
  specification: ComparisonSpecification,
  identity: ReleaseIdentity,
  margin: FrozenMargin | null,
  shareReceivedAfter: number,
): ComparisonResult {
  const applied =
    margin === null
      ? null
      : { id: margin.id, value: margin.value, declaredAt: null, receivedAfter: { recordedShare: shareReceivedAfter } };
  return runComparison(columns, specification, baseOf(specification, identity), applied);
}

/** The recorded analysis once more, from the shots. Throws when it cannot be computed or names an unknown margin. */
export function recomputeAnalysis(
  columns: ShotColumns,
  recorded: RecordedAnalysis,
  margins: readonly FrozenMargin[],
  identity: ReleaseIdentity,
): RegressionResult | ComparisonResult {
  const { result, shareReceivedAfter } = recorded;
  const question = questionOfRelease(result, identity);
  if (question.kind === 'regression') return answerRegression(columns, question.specification, identity);
  const { specification } = question;
  if (specification.margin === null) return answerComparison(columns, specification, identity, null, 0);
  const margin = margins.find(({ id }) => id === specification.margin);
  if (margin === undefined) throw new Error(`margin ${specification.margin} is not recorded`);
  if (freezeMargin(margin).id !== margin.id) throw new Error(`the id of margin ${margin.id} does not fit its content`);
  if (margin.variable !== specification.response) throw new Error('the margin is for another variable');
  if (shareReceivedAfter === null) throw new Error('the share of shots received after the margin is not recorded');
  return answerComparison(columns, specification, identity, margin, shareReceivedAfter);
}
