/** Where the service is and what to ask it. */
import { heading } from './plain-text.ts';

/** Commands to copy; a long one is broken as a shell reads it. */
export function reportTry(address: string, readerToken: string, release: string): string[] {
  return [
    ...heading('Still serving'),
    `address      ${address}`,
    `read token   ${readerToken}`,
    '',
    'Try:',
    `  TOKEN=${readerToken}`,
    `  curl -s -H "Authorization: Bearer $TOKEN" '${address}/v1/shots?lab=old-mill&limit=1'`,
    `  curl -s -H "Authorization: Bearer $TOKEN" \\`,
    `    '${address}/v1/regression?response=contactTime&terms=cueSpeed,tipOffset'`,
    `  curl -s -H "Authorization: Bearer $TOKEN" -o shots.zip \\`,
    `    '${address}/v1/releases/${release}/bundle.zip'`,
    '  npm run verify -- shots.zip',
    '',
    'Stop with Ctrl-C; the temporary database is then removed.',
  ];
}
