import { defineConfig } from 'vitest/config';

/** Folders whose tests may need a database: only they pay for starting one. */
const serviceTests = [
  'tests/{store,notices,access,intake,pooling,comparison,releases,rest,graphql,client,demo}/**/*.test.ts',
  'tests/*.test.ts',
];

export default defineConfig({
  test: {
    // An embedded database takes about 250 MB: two at once are enough for two cores.
    maxWorkers: 2,
    projects: [
      {
        extends: true,
        test: { name: 'pure', include: ['tests/**/*.test.ts'], exclude: serviceTests, testTimeout: 30_000 },
      },
      {
        extends: true,
        test: {
          name: 'service',
          include: serviceTests,
          globalSetup: 'tests/harness/global-setup.ts',
          testTimeout: 60_000,
          hookTimeout: 90_000,
        },
      },
    ],
  },
});
