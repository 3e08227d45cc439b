import { describe, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { type Action, actions, may, permit } from '../../src/access/permissions.ts';
import { anonymous, type Principal } from '../../src/access/principal.ts';

const north = { id: 1, slug: 'north' };
const principals = {
  curator: { role: 'curator', lab: null, tokenId: 'c' },
  lead: { role: 'lead', lab: north, tokenId: 'l' },
  contributor: { role: 'contributor', lab: north, tokenId: 'k' },
  reader: { role: 'reader', lab: null, tokenId: 'r' },
  anonymous,
} as const satisfies Record<string, Principal>;
type Name = keyof typeof principals;

/** Who may do what, once more and independently of the table in the code. */
const expected: Readonly<Record<Action, { ownLab: readonly Name[]; otherLab: readonly Name[] }>> = {
  registerLab: { ownLab: ['curator'], otherLab: ['curator'] },
  issueToken: { ownLab: ['curator'], otherLab: ['curator'] },
  issueLabToken: { ownLab: ['curator', 'lead'], otherLab: ['curator'] },
  changeGear: { ownLab: ['lead'], otherLab: [] },
  changeShots: { ownLab: ['lead', 'contributor'], otherLab: [] },
  readLab: { ownLab: ['lead', 'contributor'], otherLab: [] },
  readShared: {
    ownLab: ['curator', 'lead', 'contributor', 'reader', 'anonymous'],
    otherLab: ['curator', 'lead', 'contributor', 'reader', 'anonymous'],
  },
  declareMargin: { ownLab: ['curator', 'lead', 'contributor'], otherLab: ['curator', 'lead', 'contributor'] },
  manageVocabularies: { ownLab: ['curator'], otherLab: ['curator'] },
  manageDatasets: { ownLab: ['curator'], otherLab: ['curator'] },
  freezeRelease: { ownLab: ['curator'], otherLab: ['curator'] },
  changeMethod: { ownLab: ['curator'], otherLab: ['curator'] },
};

function whoMay(action: Action, labSlug?: string): string[] {
  return Object.entries(principals)
    .filter(([, principal]) => may(principal, action, labSlug))
    .map(([name]) => name);
}

describe.each(Object.keys(actions) as Action[])('%s', (action) => {
  test('is open to exactly the roles that should have it, in their own lab and in another', () => {
    expect(whoMay(action, 'north')).toEqual(expected[action].ownLab);
    expect(whoMay(action, 'south')).toEqual(expected[action].otherLab);
  });
});

function refusalOf(principal: Principal, action: Action, labSlug?: string): Refusal {
  try {
    permit(principal, action, labSlug);
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

test('a refusal names the role that is needed and the one that was given', () => {
  const refusal = refusalOf(principals.contributor, 'changeGear', 'north');
  expect(refusal.code).toBe('forbidden');
  expect(refusal.message).toContain('lead of lab north');
  expect(refusal.message).toContain('contributor of lab north');
});

test('without a token the refusal asks for one instead of calling it the wrong one', () => {
  expect(refusalOf(anonymous, 'changeShots', 'north').code).toBe('unauthenticated');
});

test('an action of a lab is refused when no lab is named', () => {
  expect(refusalOf(principals.lead, 'changeGear').code).toBe('forbidden');
});
