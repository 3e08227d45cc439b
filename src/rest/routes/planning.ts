/** How many pairs are needed, before they are filmed. */
import { planningInputSchema, planningSchema } from '../../../shared/planning.ts';
import { planPairs } from '../../comparison/plan-pairs.ts';
import { type Routes, refusals } from './common.ts';

export const planningRoutes: Routes = async (scope, { db }) => {
  scope.post(
    '/planning',
    {
      config: { writes: false },
      schema: {
        summary: 'How many pairs a comparison needs for a margin, a power and the spread that was observed',
        description:
          'Exact power of two one-sided t tests (equivalence) or of the two-sided t test (difference). Nothing is stored.',
        tags: ['analyses'],
        body: planningInputSchema,
        response: { 200: planningSchema, ...refusals },
      },
    },
    async (request) => planPairs(db, request.principal, request.body),
  );
};
