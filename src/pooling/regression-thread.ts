/** Runs in a thread: answers a regression over many shots, so that whoever asks for less need not wait. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import type { ThreadWork } from '../threads/thread-pool.ts';
import { shotView, type ViewSource, withLabels } from './column-store/shot-view.ts';
import type { ShotColumns } from './columns.ts';
import { type AnalysisBase, runRegression } from './run-regression.ts';

export interface RegressionJob {
  readonly source: ViewSource;
  readonly specification: RegressionSpecification;
  readonly base: AnalysisBase;
  /** Of the shots in order; null when the answer names none. */
  readonly labels: readonly string[] | null;
}

/** The shots of the last question, whose columns are laid out already. */
let last: { readonly key: string; readonly columns: ShotColumns } | null = null;

export const run: ThreadWork<RegressionJob, RegressionResult> = ({ source, specification, base, labels }) => {
  if (last?.key !== source.key) {
    const columns = shotView(source, () => {
      throw new Error('labels were not sent');
    });
    last = { key: source.key, columns };
  }
  const columns = labels === null ? last.columns : withLabels(last.columns, labels);
  return runRegression(columns, specification, base);
};
