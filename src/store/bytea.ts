import { customType } from 'drizzle-orm/pg-core';

/** PostgreSQL bytea as a Uint8Array on both drivers. */
export const bytea = customType<{ data: Uint8Array; driverData: Uint8Array }>({ dataType: () => 'bytea' });
