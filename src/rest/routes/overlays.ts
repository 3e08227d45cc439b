/** Two shots laid over each other: as data, as a table, drawn. Both must be visible. */
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { overlaySchema } from '../../../shared/overlay.ts';
import type { Principal } from '../../access/principal.ts';
import { overlayTable } from '../../comparison/overlay-table.ts';
import { overlayData } from '../../figures/overlay-data.ts';
import { overlayFigure } from '../../figures/overlay-figure.ts';
import { loadDerivedShot } from '../../intake/explain-shot.ts';
import type { Database } from '../../store/database.ts';
import { type Routes, refusals, sendCsv, sendSvg, uuidSchema, wantsCsv } from './common.ts';

const parameters = z.strictObject({ shot: uuidSchema, other: uuidSchema });

async function overlayOf(db: Database, principal: Principal, { shot, other }: z.output<typeof parameters>) {
  // One after the other: the embedded database has one connection.
  const first = await loadDerivedShot(db, principal, shot);
  const second = await loadDerivedShot(db, principal, other);
  return overlayData({ ...first, id: shot }, { ...second, id: other });
}

export const overlayRoutes: Routes = async (scope, { db }) => {
  scope.get(
    '/shots/:shot/overlay/:other',
    {
      schema: {
        summary: 'Two shots on common time bases (JSON, or CSV with Accept: text/csv)',
        description:
          'Cue tracks with first contact at time and place zero, ball tracks with the ball-ball impact at zero, speeds along the fits and outcomes. Tracks of more than 2000 points are thinned evenly.',
        tags: ['shots'],
        params: parameters,
        response: { 200: overlaySchema, ...refusals },
      },
    },
    async (request, reply) => {
      const overlay = await overlayOf(db, request.principal, request.params);
      if (wantsCsv(request.headers.accept)) return sendCsv(reply as unknown as FastifyReply, overlayTable(overlay));
      return reply.header('vary', 'accept').send(overlay);
    },
  );
  scope.get(
    '/shots/:shot/overlay/:other/figure.svg',
    {
      schema: {
        summary: 'Two shots drawn over each other (SVG)',
        tags: ['shots'],
        params: parameters,
        produces: ['image/svg+xml'],
      },
    },
    async (request, reply) => sendSvg(reply, overlayFigure(await overlayOf(db, request.principal, request.params))),
  );
};
