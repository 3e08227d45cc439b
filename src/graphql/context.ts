/** What every resolver is given. */
import type { Principal } from '../access/principal.ts';
import type { Database } from '../store/database.ts';

export interface RequestContext {
  readonly db: Database;
  readonly principal: Principal;
  /** Which operation of the document runs; undefined when it has only one. */
  readonly operationName: string | undefined;
}

declare module 'mercurius' {
  interface MercuriusContext extends RequestContext {}
}

/** Members of one batch of a loader: the parent and the arguments of the field. */
export interface Asked<Parent, Arguments = Record<string, never>> {
  readonly obj: Parent;
  readonly params: Arguments;
}
