/** The texts of a bundle for people: README.txt and LICENCE.txt. */
import type { FrozenLab, ReleaseIdentity } from './frozen-shot.ts';

/** README.txt: what is in the bundle and how to check it. */
export function readmeText(identity: ReleaseIdentity, labs: readonly FrozenLab[], shots: number): string {
  const { dataset, number, title, methodVersion } = identity;
  return `${title}
Release ${dataset}@${number}: ${shots} shots of ${labs.length} ${labs.length === 1 ? 'lab' : 'labs'}, method version ${methodVersion}.

manifest.json     name, size and SHA-256 of every other file. The SHA-256 of manifest.json is the digest of the release.
README.txt        this text
LICENCE.txt       under which terms the data may be used
datapackage.json  descriptor (Data Package standard) with a schema for every CSV file
codebook.csv      meaning, unit and limits of every column, and the flags
methods.md        how the values were computed
shots.csv         what the labs sent, one row a shot; units are as sent
tracks.csv        the cue tracks as sent, one row a point
gear.json         rigs, cues and tables, with capture rates, scales and counting conventions
derived.csv       values recomputed from the three files above, SI units, with standard uncertainties
analyses.json     questions asked when the release was frozen, with their answers and the equivalence margins used

CSV files are UTF-8 with LF line ends and one header line; an empty cell is a missing value.
Numbers are written with as many digits as are needed to read back the same double.
People are codes. No file holds an address, a time of the server or anything else that another server would write differently.

To check a copy of this bundle, compare the SHA-256 of manifest.json with the digest that was published, then run,
in a checkout of the source of the service:

  npm run verify -- ${dataset}-${number}.zip

It needs no network and no database. It checks every file against the manifest, recomputes every value of derived.csv
from shots.csv, tracks.csv and gear.json, and recomputes every answer of analyses.json.
`;
}

/** LICENCE.txt: SPDX identifiers of the release and of each lab, and the consent under which each lab films. */
export function licenceText(identity: ReleaseIdentity, labs: readonly FrozenLab[]): string {
  const lines = labs.map(
    ({ lab, title, dataLicence, consentReference }) =>
      `${lab} (${title}): data under ${dataLicence}; ethics or consent reference: ${consentReference}`,
  );
  return `SPDX-License-Identifier: ${identity.licence}

The release ${identity.dataset}@${identity.number} is offered under ${identity.licence}.
The labs gave their data under these terms:

${lines.join('\n')}
`;
}
