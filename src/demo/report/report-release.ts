/** A frozen release, downloaded and verified offline. */
import type { Release } from '../../../shared/release.ts';
import type { VerificationReport } from '../../releases/verification-report.ts';
import { grouped } from './numbers.ts';
import { heading, table, wrapped } from './plain-text.ts';

/** @param size bytes of the bundle as downloaded */
export function reportRelease(release: Release, size: number, verification: VerificationReport): string[] {
  const verified = verification.outcome === 'verified' && verification.digest === release.digest;
  return [
    ...heading('A frozen release'),
    ...wrapped(
      `${release.dataset}@${release.number}: ${release.shots} shots under method version ${release.methodVersion}.`,
    ),
    `digest ${release.digest}`,
    ...wrapped(
      `Bundle downloaded (${grouped(size)} bytes) and verified offline, without the database: ${
        verified
          ? 'verified, and the digest is the one published.'
          : `${verification.outcome}. ${verification.obstacle ?? ''}`
      }`,
    ),
    '',
    ...table(
      ['check', 'compared', '', 'differences'],
      verification.checks.map(({ name, compared, unit, differences }) => [
        name,
        grouped(compared),
        unit,
        String(differences),
      ]),
    ),
    ...verification.checks.flatMap(({ first }) =>
      first
        .slice(0, 3)
        .flatMap(({ file, lab, label, column, expected, found }) =>
          wrapped(
            `${file} ${lab ?? ''} ${label ?? ''} ${column ?? ''}: expected ${expected}, found ${found}`,
            '  ! ',
            '    ',
          ),
        ),
    ),
  ];
}
