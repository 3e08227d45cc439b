/** Work for the tests of the pool. */
import { Refusal } from '../../shared/refusal.ts';
import type { ThreadWork } from '../../src/threads/thread-pool.ts';

type Trial =
  | { readonly kind: 'add'; readonly numbers: readonly number[] }
  | { readonly kind: 'fill'; readonly cells: Float64Array }
  | { readonly kind: 'forever' | 'refuse' | 'fail' | 'die' };

export const run: ThreadWork<Trial, number> = (trial, report) => {
  switch (trial.kind) {
    case 'add': {
      let sum = 0;
      for (const number of trial.numbers) {
        sum += number;
        report(sum);
      }
      return sum;
    }
    case 'fill':
      trial.cells.fill(7);
      return trial.cells.length;
    case 'forever':
      for (;;) Math.sqrt(2);
    case 'refuse':
      throw new Refusal('not-estimable', 'too few');
    case 'fail':
      throw new Error('the job failed');
    case 'die':
      return process.exit(3);
  }
};
