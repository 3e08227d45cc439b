/**
 * Which shots may be seen: decided here and nowhere else. A sight is "what is shared, plus what is one lab's own";
 * every reader has one, every analysis scope is one, and rows are chosen by it in SQL or in memory.
 */
import { eq, or, type SQL, sql } from 'drizzle-orm';
import type { PgColumn } from 'drizzle-orm/pg-core';
import { Refusal } from '../../shared/refusal.ts';
import type { Principal } from './principal.ts';

/** 'shared' (the same for every caller) or 'lab:{slug}' (shared plus that lab's own). */
export type Scope = 'shared' | `lab:${string}`;

export interface Sight {
  /** Lab whose unshared shots are seen too, or null. */
  readonly ownLab: string | null;
}

/** What a principal sees: members of a lab its own shots too, everyone else, the curator included, shared ones only. */
export function sightOf(principal: Principal): Sight {
  const isMember = principal.role === 'lead' || principal.role === 'contributor';
  return { ownLab: isMember && principal.lab !== null ? principal.lab.slug : null };
}

/** What an analysis of a scope is computed from. */
export function sightOfScope(scope: Scope): Sight {
  return { ownLab: scope === 'shared' ? null : scope.slice('lab:'.length) };
}

/** The one rule, for a shot in memory. */
export function isVisible(sight: Sight, shot: { readonly lab: string; readonly shared: boolean }): boolean {
  return shot.shared || shot.lab === sight.ownLab;
}

/**
 * The one rule, as a condition of a query.
 * @param table shot or hot_shot, or an alias of them
 */
export function visibleWhere(sight: Sight, table: { readonly labId: PgColumn; readonly shared: PgColumn }): SQL {
  const shared = eq(table.shared, true);
  if (sight.ownLab === null) return shared;
  const own = sql`${table.labId} = (select own_lab.id from lab as own_lab where own_lab.slug = ${sight.ownLab})`;
  return or(shared, own) ?? shared;
}

/** Whether everything in a scope may be seen by a principal. */
export function mayUseScope(principal: Principal, scope: Scope): boolean {
  const { ownLab } = sightOfScope(scope);
  return ownLab === null || ownLab === sightOf(principal).ownLab;
}

/**
 * Reads a scope as sent and checks it.
 * @throws Refusal 'not-found' for a scope that the principal may not use, whether its lab exists or not
 */
export function requireScope(principal: Principal, text: string): Scope {
  const scope = text === 'shared' || text.startsWith('lab:') ? (text as Scope) : null;
  if (scope === null || !mayUseScope(principal, scope)) {
    throw new Refusal('not-found', `The scope ${text} is not open to this token.`);
  }
  return scope;
}
