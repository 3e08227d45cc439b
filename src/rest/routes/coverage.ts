/** Where the next shots would make new pairs: as numbers, as a table, drawn. */
import type { FastifyReply } from 'fastify';
import { coverageQuerySchema, coverageSchema } from '../../../shared/coverage.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { coverageTable } from '../../comparison/coverage-table.ts';
import { readCoverage } from '../../comparison/read-coverage.ts';
import { coverageFigure } from '../../figures/coverage-figure.ts';
import { cacheControl, type Routes, refusals, sendCsv, sendSvg, wantsCsv } from './common.ts';

const description =
  'Shots in cells of tip offset and cue speed, by lab and side of a contrast. What one side of a cell has more than the other, on the same set-up and step of object-ball distance, the other side wants: each such shot would make one more pair. Cells are coarser than calipers: two shots of one cell are near, not yet within a tolerance, and near shots may lie across an edge.';

export const coverageRoutes: Routes = async (scope, { db }) => {
  scope.get(
    '/coverage',
    {
      schema: {
        summary: 'Where the next shots would make new pairs (JSON, or CSV with Accept: text/csv)',
        description,
        tags: ['analyses'],
        querystring: coverageQuerySchema,
        response: { 200: coverageSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const coverage = await readCoverage(db, request.principal, request.query);
      const kept = reply.header('cache-control', cacheControl(request.query.scope, request.principal));
      if (wantsCsv(request.headers.accept)) return sendCsv(kept as unknown as FastifyReply, coverageTable(coverage));
      return kept.header('vary', 'accept').send(coverage);
    },
  );
  scope.get(
    '/coverage/figure.svg',
    {
      schema: {
        summary: 'The coverage map drawn (SVG)',
        description,
        tags: ['analyses'],
        querystring: coverageQuerySchema,
        produces: ['image/svg+xml'],
      },
    },
    async (request, reply) => {
      const drawn = coverageFigure(await readCoverage(db, request.principal, request.query));
      if (drawn === null)
        throw new Refusal('not-found', 'no shot has tip offset, cue speed, object-ball distance, set-up and a side');
      return sendSvg(reply.header('cache-control', cacheControl(request.query.scope, request.principal)), drawn);
    },
  );
};
