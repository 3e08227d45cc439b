/** datapackage.json: the descriptor of the Data Package open standard, with one table schema a CSV file. */
import { canonicalJson } from '../pooling/canonical.ts';
import { describedTables } from './codebook.ts';
import type { FrozenLab, ReleaseIdentity } from './frozen-shot.ts';

export interface TableMeasure {
  readonly file: string;
  readonly size: number;
  readonly sha256: string;
  /** Rows without the header. */
  readonly rows: number;
}

/**
 * @param measures size, hash and row count of each CSV file
 * @returns canonical JSON
 */
export function dataPackageText(
  identity: ReleaseIdentity,
  labs: readonly FrozenLab[],
  measures: readonly TableMeasure[],
): string {
  return canonicalJson({
    $schema: 'https://datapackage.org/profiles/2.0/datapackage.json',
    name: `${identity.dataset}-${identity.number}`,
    title: `${identity.title}, release ${identity.number}`,
    version: `${identity.number}.0.0`,
    licenses: [{ name: identity.licence }],
    contributors: labs.map(({ title }) => ({ title, roles: ['creator'] })),
    resources: describedTables.flatMap((table) => {
      const measure = measures.find(({ file }) => file === table.file);
      if (measure === undefined) return [];
      return {
        name: table.file.replace('.csv', ''),
        title: table.title,
        path: table.file,
        type: 'table',
        format: 'csv',
        mediatype: 'text/csv',
        encoding: 'utf-8',
        dialect: { delimiter: ',', lineTerminator: '\n', quoteChar: '"', doubleQuote: true, header: true },
        bytes: measure.size,
        hash: `sha256:${measure.sha256}`,
        rows: measure.rows,
        schema: {
          fields: table.columns.map((each) => ({
            name: each.name,
            type: each.type,
            description: each.meaning,
            ...(each.unit === '' ? {} : { unit: each.unit }),
            constraints: {
              required: each.required,
              ...(each.limits === null ? {} : { minimum: each.limits.min, maximum: each.limits.max }),
              ...(each.allowed === null ? {} : { enum: each.allowed }),
            },
          })),
          missingValues: [''],
          primaryKey: table.primaryKey,
        },
      };
    }),
  });
}
