/**
 * Freezing a release. One transaction sees one state of the database: uploads that are committed meanwhile are either
 * wholly in it or wholly not.
 */
import { and, eq, sql } from 'drizzle-orm';
import { filterSchema } from '../../shared/analysis.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { Release, ReleaseInput } from '../../shared/release.ts';
import { appendAudit } from '../access/audit.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { publishNotice } from '../notices/publish-notice.ts';
import { canonicalJson } from '../pooling/canonical.ts';
import { canonicalFilter } from '../pooling/canonical-specification.ts';
import { loadLiveColumns } from '../pooling/load-columns.ts';
import { selectShots } from '../pooling/select-shots.ts';
import type { Database, Transaction } from '../store/database.ts';
import {
  dataset,
  derivation,
  hotShot,
  lab,
  release,
  releaseDocument,
  releaseMember,
  serverState,
} from '../store/schema.ts';
import { columnsOfFrozen } from './columns-of-frozen.ts';
import type { ReleaseIdentity } from './frozen-shot.ts';
import { loadFrozen, type MemberRows } from './load-frozen.ts';
import { sealManifest } from './manifest.ts';
import { methodsText } from './methods-text.ts';
import { recordAnalyses } from './record-analyses.ts';
import { refuseUnverifiable } from './refuse-unverifiable.ts';
import { dataFiles, documents, inBundleOrder } from './release-files.ts';
import { presentRelease } from './releases.ts';
import { retryOnConflict } from './retry-on-conflict.ts';
import { shotKey } from './tracks-table.ts';

async function nextIdentity(tx: Transaction, slug: string): Promise<{ datasetId: number; identity: ReleaseIdentity }> {
  const [row] = await tx.select().from(dataset).where(eq(dataset.slug, slug));
  if (row === undefined) throw new Refusal('not-found', `there is no dataset ${slug}`);
  const [state] = await tx.select({ method: serverState.activeMethod }).from(serverState);
  if (state === undefined) throw new Error('the database has no server state');
  const [last] = await tx
    .select({ number: sql<number>`coalesce(max(${release.number}), 0)::int` })
    .from(release)
    .where(eq(release.datasetId, row.id));
  return {
    datasetId: row.id,
    identity: {
      dataset: slug,
      number: (last?.number ?? 0) + 1,
      title: row.title,
      licence: row.licence,
      methodVersion: state.method,
      rule: canonicalFilter(filterSchema.parse(row.rule)),
    },
  };
}

/** The current shared shots that meet the rule, as rows: their revision and its derivation by the active method. */
async function selectMembers(tx: Transaction, identity: ReleaseIdentity): Promise<MemberRows[]> {
  const columns = await loadLiveColumns(tx, 'shared');
  const { indices } = selectShots(columns, identity.rule, []);
  const { codes, names } = columns.groups.lab;
  const chosen = new Set(
    Array.from(indices, (row) => shotKey(names[codes[row] ?? -1] ?? '', String(columns.ordinals[row]))),
  );
  const rows = await tx
    .select({
      slug: lab.slug,
      labId: hotShot.labId,
      ordinal: hotShot.ordinal,
      revisionId: hotShot.revisionId,
      derivationId: derivation.id,
      strokeStyle: hotShot.strokeStyle,
      grip: hotShot.grip,
    })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .innerJoin(
      derivation,
      and(eq(derivation.revisionId, hotShot.revisionId), eq(derivation.methodVersion, identity.methodVersion)),
    )
    .where(eq(hotShot.shared, true));
  const termOf = (name: string | null) => (name?.startsWith('=') === true ? name.slice(1) : null);
  const members = rows
    .filter(({ slug, ordinal }) => chosen.has(shotKey(slug, String(ordinal))))
    .map(({ strokeStyle, grip, ...member }) => ({
      ...member,
      strokeStyleTerm: termOf(strokeStyle),
      gripTerm: termOf(grip),
    }));
  if (members.length !== chosen.size) throw new Error('a shared shot has no derivation by the active method');
  return members;
}

async function insertMembers(tx: Transaction, releaseId: number, members: readonly MemberRows[]): Promise<void> {
  const list = (pick: (member: MemberRows) => number | string | null) => sql.param(members.map(pick));
  await tx.execute(sql`
    insert into ${releaseMember} (release_id, lab_id, ordinal, revision_id, derivation_id, stroke_style_term, grip_term)
    select ${releaseId}::integer, * from unnest(
      ${list(({ labId }) => labId)}::integer[],
      ${list(({ ordinal }) => ordinal)}::integer[],
      ${list(({ revisionId }) => revisionId)}::bigint[],
      ${list(({ derivationId }) => derivationId)}::bigint[],
      ${list(({ strokeStyleTerm }) => strokeStyleTerm)}::text[],
      ${list(({ gripTerm }) => gripTerm)}::text[])`);
}

async function freezeOnce(tx: Transaction, principal: Principal, slug: string, input: ReleaseInput): Promise<Release> {
  // Locking the table takes no snapshot yet, so the numbers of releases frozen just before are seen.
  await tx.execute(sql`lock table ${release} in share row exclusive mode`);
  const { datasetId, identity } = await nextIdentity(tx, slug);
  const members = await selectMembers(tx, identity);
  if (members.length === 0) throw new Refusal('release-invalid', `no shared shot meets the rule of dataset ${slug}`);
  const { shots, gear, labs } = await loadFrozen(tx, members);
  const columns = columnsOfFrozen(shots, ({ receivedAt }) => receivedAt);
  const analyses = await recordAnalyses(tx, columns, input.analyses, identity);
  const data = dataFiles(shots, gear);
  const texts = documents(identity, labs, shots, data, { methods: methodsText(), analyses: canonicalJson(analyses) });
  const files = inBundleOrder(data, texts);
  const { manifest: sealed, text: manifest, digest } = sealManifest(identity, labs, shots, files);
  refuseUnverifiable(files, sealed);
  const [row] = await tx
    .insert(release)
    .values({
      datasetId,
      number: identity.number,
      digest,
      manifest,
      methodVersion: identity.methodVersion,
      shots: shots.length,
      analyses: analyses.analyses,
      margins: analyses.margins,
    })
    .returning();
  if (row === undefined) throw new Error('the release was not stored');
  await insertMembers(tx, row.id, members);
  await tx
    .insert(releaseDocument)
    .values(Object.entries(texts).map(([name, content]) => ({ releaseId: row.id, name, content })));
  await appendAudit(tx, null, {
    tokenId: principal.tokenId,
    kind: 'release-frozen',
    detail: { release: `${slug}@${identity.number}`, digest, shots: shots.length },
  });
  await publishNotice(tx, { kind: 'releaseFrozen', dataset: slug, number: identity.number, digest });
  return presentRelease({ ...row, dataset: slug });
}

/**
 * Freezes the current shared shots that meet the rule of a dataset as its next release: exact revisions, their
 * derivations by the active method, and the answers to the questions recorded with it.
 * @throws Refusal forbidden, not-found, release-invalid (also when the bundle would fail its own verification)
 */
export async function freezeRelease(
  db: Database,
  principal: Principal,
  datasetSlug: string,
  input: ReleaseInput,
): Promise<Release> {
  permit(principal, 'freezeRelease');
  return retryOnConflict(() =>
    db.transaction((tx) => freezeOnce(tx, principal, datasetSlug, input), { isolationLevel: 'repeatable read' }),
  );
}
