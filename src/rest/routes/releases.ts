/** Frozen releases: the same bytes for ever, so every file carries a strong validator. */
import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { releaseSchema } from '../../../shared/release.ts';
import { bundleBytes } from '../../releases/bundle.ts';
import { getManifest, getRelease, getReleaseFile } from '../../releases/releases.ts';
import { hasAlready } from '../conditional.ts';
import { type Routes, refusals } from './common.ts';

const parameters = z.strictObject({
  release: z
    .string()
    .regex(/^(?:[a-z0-9-]{1,40}@[1-9][0-9]{0,6}|[0-9a-f]{64})$/)
    .meta({ description: 'dataset@number or the digest.' }),
});
const tags = ['releases'];

/**
 * Sends bytes that never change, or 304 when the caller has them. A cache that others share may keep them only when
 * they were asked for without a token.
 */
async function sendFrozen(
  request: FastifyRequest,
  reply: FastifyReply,
  validator: string,
  type: string,
  bytes: () => Promise<Uint8Array>,
) {
  const etag = `"${validator}"`;
  const audience = request.principal.role === 'anonymous' ? 'public' : 'private';
  void reply.header('etag', etag).header('cache-control', `${audience}, max-age=31536000, immutable`);
  if (hasAlready(request, etag)) return reply.code(304).send();
  return reply.type(type).send(Buffer.from(await bytes()));
}

export const releaseRoutes: Routes = async (scope, { db }) => {
  scope.get(
    '/releases/:release',
    { schema: { summary: 'One release', tags, params: parameters, response: { 200: releaseSchema, ...refusals } } },
    async (request) => getRelease(db, request.principal, request.params.release),
  );
  scope.get(
    '/releases/:release/manifest',
    { schema: { summary: 'The manifest, whose SHA-256 is the digest', tags, params: parameters } },
    async (request, reply) => {
      const { digest } = await getRelease(db, request.principal, request.params.release);
      return sendFrozen(request, reply, digest, 'application/json', async () =>
        Buffer.from(await getManifest(db, request.principal, request.params.release)),
      );
    },
  );
  scope.get(
    '/releases/:release/bundle.zip',
    { schema: { summary: 'Everything in one ZIP, to verify offline', tags, params: parameters } },
    async (request, reply) => {
      const { digest, dataset, number } = await getRelease(db, request.principal, request.params.release);
      void reply.header('content-disposition', `attachment; filename="${dataset}-${number}.zip"`);
      return sendFrozen(request, reply, `bundle-${digest}`, 'application/zip', () =>
        bundleBytes(db, request.principal, request.params.release),
      );
    },
  );
  scope.get(
    '/releases/:release/files/:name',
    {
      schema: {
        summary: 'One file of the bundle',
        tags,
        params: parameters.extend({ name: z.string().regex(/^[A-Za-z0-9._-]{1,60}$/) }),
      },
    },
    async (request, reply) => {
      const file = await getReleaseFile(db, request.principal, request.params.release, request.params.name);
      return sendFrozen(request, reply, file.sha256, file.mediaType, async () => file.bytes);
    },
  );
};
