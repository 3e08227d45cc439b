/** npm run verify -- bundle.zip: verifies a release offline. Exit 0 verified, 1 differences, 2 usage or unreadable, 3 unknown format or method. */
import { readFile } from 'node:fs/promises';
import process, { argv, exit, stderr, stdout } from 'node:process';
import { verifyBundle } from '../releases/verify-bundle.ts';
import { exitCodeOf, verificationText } from './verification-text.ts';

const usageExit = 2;
const [file, ...more] = argv.slice(2);

if (file === undefined || file.startsWith('-') || more.length > 0) {
  stderr.write('Usage: npm run verify -- bundle.zip\n');
  exit(usageExit);
}

let bundle: Uint8Array;
try {
  bundle = await readFile(file);
} catch (error) {
  stderr.write(`${file} cannot be read: ${error instanceof Error ? error.message : String(error)}\n`);
  exit(usageExit);
}

const report = verifyBundle(bundle);
stdout.write(`${verificationText(report)}\n`);
process.exitCode = exitCodeOf(report);
