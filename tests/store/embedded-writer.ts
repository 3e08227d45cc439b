/** Run by a test in a process of its own: writes to an embedded database, says so, and waits to be killed. */
import { openDatabase } from '../../src/store/open-database.ts';
import { lab } from '../../src/store/schema.ts';

const database = await openDatabase({ dataDirectory: process.argv[2] ?? null });
for (let written = 1; ; written++) {
  await database.db.transaction(async (tx) => {
    await tx.insert(lab).values({
      slug: `lab-${written}`,
      title: 'x'.repeat(5000),
      dataLicence: 'CC0-1.0',
      consentReference: 'invented',
    });
  });
  process.stdout.write(`${written}\n`);
}
