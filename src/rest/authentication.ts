/** From the Authorization header to the principal of the request. */
import type { FastifyInstance } from 'fastify';
import { Refusal } from '../../shared/refusal.ts';
import { anonymous, type Principal } from '../access/principal.ts';
import type { PrincipalBook } from '../access/principal-book.ts';

declare module 'fastify' {
  interface FastifyRequest {
    principal: Principal;
  }
  interface FastifyContextConfig {
    /** True for routes that say nothing about data, such as the dictionary: no token is asked for. */
    open?: boolean;
  }
}

/** The token of a header `Authorization: Bearer TOKEN`, or null. */
function bearerToken(header: string | undefined): string | null {
  const match = /^Bearer +([^\s]+)$/i.exec(header ?? '');
  return match?.[1] ?? null;
}

/** Sets `request.principal` on every route of the scope, or refuses. */
export function authenticate(
  scope: FastifyInstance,
  options: { principals: PrincipalBook; publicRead: boolean },
): void {
  scope.decorateRequest('principal');
  scope.addHook('onRequest', async (request) => {
    const header = request.headers.authorization;
    const token = bearerToken(header);
    if (token === null) {
      if (header !== undefined)
        throw new Refusal('unauthenticated', 'The Authorization header is not of the form Bearer TOKEN.');
      if (!options.publicRead && request.routeOptions.config.open !== true) {
        throw new Refusal('unauthenticated', 'This server answers only with a token.');
      }
      request.principal = anonymous;
      return;
    }
    const found = await options.principals.find(token);
    if (found.ok) request.principal = found.principal;
    else if (found.reason === 'expired') throw new Refusal('token-expired', 'It is past its end date, or was revoked.');
    else throw new Refusal('unauthenticated', 'This token is not known here.');
  });
}
