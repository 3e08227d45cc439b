/** Prints the golden digests of this Node; exit 1 when one is not the committed one. */
import { goldenDigest, goldenVersions } from './golden-digest.ts';

for (const { choices, expected } of goldenVersions) {
  const digest = goldenDigest(choices);
  console.log(`method version ${choices.version}: ${digest} on Node ${process.versions.node}`);
  if (digest !== expected) {
    console.error(`expected ${expected}`);
    process.exitCode = 1;
  }
}
