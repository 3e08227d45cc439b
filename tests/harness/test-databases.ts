/** What the global setup hands to the test files: which databases there are and how to get a fresh copy of each. */

export interface TestDatabases {
  /** File with a dump of a migrated embedded database; null when the embedded tests are switched off. */
  readonly embeddedImage: string | null;
  /** Address and name of a migrated template database on a real server; null when there is none. */
  readonly postgresql: { readonly url: string; readonly template: string } | null;
}

declare module 'vitest' {
  interface ProvidedContext {
    testDatabases: TestDatabases;
  }
}

/** The same server, another database. */
export function withDatabase(url: string, name: string): string {
  const address = new URL(url);
  address.pathname = `/${name}`;
  return address.toString();
}
