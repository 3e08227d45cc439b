/** Prints the golden digest of this Node; exit 1 when it is not the committed one. */
import { expectedDigest, goldenDigest } from './golden-digest.ts';

const digest = goldenDigest();
console.log(`${digest} on Node ${process.versions.node}`);
if (digest !== expectedDigest) {
  console.error(`expected ${expectedDigest}`);
  process.exitCode = 1;
}
