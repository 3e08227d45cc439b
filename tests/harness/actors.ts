/** Principals for service tests, made the way the service makes them. */
import { createLab } from '../../src/access/labs.ts';
import type { Principal } from '../../src/access/principal.ts';
import { createToken, ensureFirstCurator, findPrincipal, type TokenRole } from '../../src/access/tokens.ts';
import type { Database } from '../../src/store/database.ts';

/** The principal of a token text. */
export async function principalOf(db: Database, token: string): Promise<Principal> {
  const found = await findPrincipal(db, token);
  if (!found.ok) throw new Error(`The token is ${found.reason}.`);
  return found.principal;
}

/** The first curator of a fresh database. */
export async function makeCurator(db: Database): Promise<Principal> {
  const { token } = await ensureFirstCurator(db, { directory: null });
  if (token === null) throw new Error('The database has a curator already.');
  return principalOf(db, token);
}

/** A principal with a new token of a role; `labSlug` for leads and contributors. */
export async function makePrincipal(
  db: Database,
  curator: Principal,
  role: TokenRole,
  labSlug: string | null = null,
): Promise<Principal> {
  const { token } = await createToken(db, curator, { role, lab: labSlug, note: 'test' });
  return principalOf(db, token);
}

export interface TestLab {
  readonly slug: string;
  readonly id: number;
  readonly lead: Principal;
  readonly contributor: Principal;
}

/** A lab with a lead and a contributor. */
export async function makeLab(db: Database, curator: Principal, slug: string): Promise<TestLab> {
  await createLab(db, curator, {
    slug,
    title: `Lab ${slug}`,
    dataLicence: 'CC-BY-4.0',
    consentReference: 'invented for a test',
  });
  const lead = await makePrincipal(db, curator, 'lead', slug);
  const contributor = await makePrincipal(db, curator, 'contributor', slug);
  if (lead.lab === null) throw new Error('A lead has a lab.');
  return { slug, id: lead.lab.id, lead, contributor };
}
