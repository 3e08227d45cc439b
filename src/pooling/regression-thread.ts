/** Runs in a thread: answers a regression over many shots, so that whoever asks for less need not wait. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import type { ThreadWork } from '../threads/thread-pool.ts';
import { shotView, type ViewSource } from './column-store/shot-view.ts';
import type { ShotColumns } from './columns.ts';
import { type AnalysisBase, runRegression } from './run-regression.ts';

export interface RegressionJob {
  readonly source: ViewSource;
  readonly specification: RegressionSpecification;
  readonly base: AnalysisBase;
}

/** The shots of the last question, whose columns are laid out already. */
let last: { readonly key: string; readonly columns: ShotColumns } | null = null;

export const run: ThreadWork<RegressionJob, RegressionResult> = ({ source, specification, base }) => {
  if (last?.key !== source.key) {
    const columns = shotView(source, () => {
      throw new Error('a regression reads no labels');
    });
    last = { key: source.key, columns };
  }
  return runRegression(last.columns, specification, base);
};
