/** Validators and conditional requests (RFC 9110 8.8.3, 13.1.2) for everything that is read. */
import { createHash } from 'node:crypto';
import type { FastifyInstance, FastifyRequest } from 'fastify';

/** A strong validator of these bytes. */
export function validatorOf(body: string | Uint8Array): string {
  return `"${createHash('sha256').update(body).digest('base64url')}"`;
}

/** Whether the caller has what the validator names: a list of validators, weak or strong, or a star. */
export function hasAlready(request: FastifyRequest, etag: string): boolean {
  const header = request.headers['if-none-match'];
  if (header === undefined) return false;
  const listed = header.split(',').map((one) => one.trim().replace(/^W\//, ''));
  return listed.includes(etag) || listed.includes('*');
}

/**
 * Gives every answer to a GET that is held whole its validator, and answers 304 to who has it already. The validator is
 * made of the bytes alone, so it tells nothing that they do not tell.
 */
export function answerConditionally(scope: FastifyInstance): void {
  scope.addHook('onSend', async (request, reply, payload) => {
    if ((request.method !== 'GET' && request.method !== 'HEAD') || reply.statusCode !== 200) return payload;
    let etag = reply.getHeader('etag');
    if (etag === undefined && (typeof payload === 'string' || payload instanceof Uint8Array)) {
      etag = validatorOf(payload);
      void reply.header('etag', etag);
    }
    if (!reply.hasHeader('cache-control')) void reply.header('cache-control', 'private, no-cache');
    if (typeof etag !== 'string' || !hasAlready(request, etag)) return payload;
    void reply.code(304).removeHeader('content-type').removeHeader('content-length');
    return '';
  });
}
