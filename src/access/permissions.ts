/** What each role may do. What a role may see is decided in visibility.ts. */
import { Refusal } from '../../shared/refusal.ts';
import type { Principal, Role } from './principal.ts';

interface Rule {
  /** Roles that may do it anywhere. */
  readonly anywhere: readonly Role[];
  /** Roles that may do it in their own lab. */
  readonly ownLab: readonly Role[];
}

const everyone = ['curator', 'lead', 'contributor', 'reader', 'anonymous'] as const;

export const actions = {
  registerLab: { anywhere: ['curator'], ownLab: [] },
  /** Curator and reader tokens. */
  issueToken: { anywhere: ['curator'], ownLab: [] },
  /** Lead and contributor tokens of one lab; the curator makes the first. */
  issueLabToken: { anywhere: ['curator'], ownLab: ['lead'] },
  /** Register rigs, cues and tables and their versions. */
  changeGear: { anywhere: [], ownLab: ['lead'] },
  /** Submit, revise, share and withdraw. */
  changeShots: { anywhere: [], ownLab: ['lead', 'contributor'] },
  /** See receipts and whatever else of a lab is not shared. */
  readLab: { anywhere: [], ownLab: ['lead', 'contributor'] },
  /** See shared shots, run analyses on them, fetch releases. A request without a token gets this far only where reading is public. */
  readShared: { anywhere: everyone, ownLab: [] },
  declareMargin: { anywhere: ['curator', 'lead', 'contributor'], ownLab: [] },
  manageVocabularies: { anywhere: ['curator'], ownLab: [] },
  manageDatasets: { anywhere: ['curator'], ownLab: [] },
  freezeRelease: { anywhere: ['curator'], ownLab: [] },
  /** Recompute all shots under a newer method version and activate it. */
  changeMethod: { anywhere: ['curator'], ownLab: [] },
} as const satisfies Record<string, Rule>;
export type Action = keyof typeof actions;

/**
 * Whether a principal may do something.
 * @param labSlug the lab it is done to; needed for actions that belong to a lab
 */
export function may(principal: Principal, action: Action, labSlug?: string): boolean {
  const rule: Rule = actions[action];
  if (rule.anywhere.includes(principal.role)) return true;
  return rule.ownLab.includes(principal.role) && principal.lab !== null && principal.lab.slug === labSlug;
}

/**
 * Refuses what a principal may not do.
 * @throws Refusal 'unauthenticated' without a token, 'forbidden' with the wrong one; the detail names the roles needed
 */
export function permit(principal: Principal, action: Action, labSlug?: string): void {
  if (may(principal, action, labSlug)) return;
  const rule: Rule = actions[action];
  const needed = [
    ...rule.anywhere,
    ...rule.ownLab.map((role) => `${role} of ${labSlug === undefined ? 'the lab' : `lab ${labSlug}`}`),
  ].join(' or ');
  if (principal.role === 'anonymous') {
    throw new Refusal('unauthenticated', `This needs a token with the role ${needed}.`);
  }
  const own = principal.lab === null ? principal.role : `${principal.role} of lab ${principal.lab.slug}`;
  throw new Refusal('forbidden', `This needs the role ${needed}; this token has the role ${own}.`);
}
