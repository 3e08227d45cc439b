/** What was accepted, what was refused and why, and how it was mended. */
import type { Fault } from '../../../shared/problems.ts';
import type { Upload } from '../submit.ts';
import type { LabUploads } from '../upload-lab.ts';
import { heading, table, wrapped } from './plain-text.ts';

function outcomeOf({ receipt, status }: Upload): string {
  if (receipt.stored) return receipt.counts.rejected === 0 ? 'stored' : 'the valid ones stored';
  return status === 422 ? 'nothing stored' : 'nothing new';
}

/** Every upload in one table, then every refused shot with its reason and remedy. */
export function reportUploads(labs: readonly LabUploads[]): string[] {
  const rows = labs.flatMap(({ slug, uploads }) =>
    uploads.map((upload) => [
      slug,
      upload.media,
      upload.accept,
      String(upload.status),
      String(upload.receipt.counts.created),
      String(upload.receipt.counts.unchanged),
      String(upload.receipt.counts.rejected),
      outcomeOf(upload),
    ]),
  );
  const stored = labs.flatMap(({ uploads }) => uploads).filter(({ receipt }) => receipt.stored);
  const accepted = stored.reduce((sum, { receipt }) => sum + receipt.counts.created, 0);
  const refused = labs.flatMap(({ uploads }) => uploads).flatMap(({ receipt }) => receipt.rejected);
  return [
    ...heading('Uploads'),
    ...table(['lab', 'as', 'accept', 'status', 'created', 'unchanged', 'rejected', 'so'], rows),
    '',
    ...wrapped(
      `${accepted} shots accepted in all; ${refused.length} refused before they were mended. With accept=all one wrong shot keeps the whole upload out; with accept=valid the others are stored. Sending the same file again is harmless: what is known is "unchanged".`,
    ),
    '',
    'Refused, one by one:',
    ...labs.flatMap(refusedOf),
  ];
}

function refusedOf({ slug, uploads, mistakes }: LabUploads): string[] {
  return uploads.flatMap(({ receipt }) =>
    receipt.rejected.flatMap(({ label, faults }) => {
      const deed = mistakes.get(label ?? '') ?? 'not meant to be wrong';
      return ['', ...wrapped(`${slug}, shot ${label ?? '(no label)'}: ${deed}`, '  '), ...faults.flatMap(faultLines)];
    }),
  );
}

function faultLines({ code, pointer, row, column, found, expected, remedy }: Fault): string[] {
  const line = row === null ? '' : `, row ${row}`;
  const where = `${pointer ?? column ?? 'the shot'}${line}`;
  return [
    ...wrapped(`${code} at ${where}: found ${found}; expected ${expected}.`, '    ', '      '),
    ...wrapped(`Remedy: ${remedy}`, '    ', '      '),
  ];
}
