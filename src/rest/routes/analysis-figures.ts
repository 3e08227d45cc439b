/** Answers drawn: GET /analyses/{id}/figure.svg. */
import { z } from 'zod';
import { Refusal } from '../../../shared/refusal.ts';
import { forestFigure } from '../../figures/forest-figure.ts';
import { trendFigure } from '../../figures/trend-figure.ts';
import { getAnalysis } from '../../pooling/stored-analysis.ts';
import { analysisIdSchema, cacheControl, type Routes, sendSvg } from './common.ts';

export const analysisFigureRoutes: Routes = async (scope, { db }) => {
  scope.get(
    '/analyses/:id/figure.svg',
    {
      schema: {
        summary: 'A pooled regression drawn (SVG): trend with lab lines and pooled line, or forest plot of lab slopes',
        tags: ['analyses'],
        params: z.strictObject({ id: analysisIdSchema }),
        querystring: z.strictObject({ kind: z.enum(['trend', 'forest']).default('trend') }),
        produces: ['image/svg+xml'],
      },
    },
    async (request, reply) => {
      const { id, result, scope: asked } = await getAnalysis(db, request.principal, request.params.id);
      if (result.kind !== 'regression') throw new Refusal('not-found', `analysis ${id} has no figure of this kind`);
      const { kind } = request.query;
      const drawn = kind === 'trend' ? trendFigure(result) : forestFigure(result);
      if (drawn === null) throw new Refusal('not-found', `analysis ${id} has no slopes to draw`);
      return sendSvg(reply.header('cache-control', cacheControl(asked, request.principal)), drawn);
    },
  );
};
