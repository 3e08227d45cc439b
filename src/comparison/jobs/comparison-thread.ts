/** A comparison in a worker thread: the answer comes back as the text that is stored and sent. */
import { type ComparisonSpecification, comparisonResultSchema } from '../../../shared/comparison.ts';
import type { JobStep } from '../../../shared/job.ts';
import { shotView, type ViewSource } from '../../pooling/column-store/shot-view.ts';
import type { ShotColumns } from '../../pooling/columns.ts';
import type { AnalysisBase } from '../../pooling/run-regression.ts';
import type { ThreadWork } from '../../threads/thread-pool.ts';
import type { ComparisonMargin } from '../judge-difference.ts';
import { runComparison } from '../run-comparison.ts';

export interface ComparisonWork {
  readonly shots:
    | { readonly columns: ShotColumns }
    | { readonly source: ViewSource; readonly labels: readonly string[] };
  readonly specification: ComparisonSpecification;
  readonly base: AnalysisBase;
  readonly margin: ComparisonMargin | null;
}

export interface ComparisonProgress {
  readonly step: JobStep;
  /** From 0 to 1. */
  readonly share: number;
}

/** JSON of the result, its members in the order of the schema. */
export const run: ThreadWork<ComparisonWork, string> = ({ shots, specification, base, margin }, report) => {
  const columns = 'columns' in shots ? shots.columns : shotView(shots.source, () => shots.labels);
  const result = runComparison(columns, specification, base, margin, (step, share) =>
    report({ step, share } satisfies ComparisonProgress),
  );
  return JSON.stringify(comparisonResultSchema.parse(result));
};
