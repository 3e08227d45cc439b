/** Numbers of the advisory locks of this service. Any fixed numbers will do; they only have to differ. */
export const advisoryLocks = {
  migrations: 5_384_920_174,
  /** First curator token: two servers that start at once make one. */
  firstCurator: 5_384_920_175,
  /** Audit chain of events that belong to no lab. */
  serverAudit: 5_384_920_176,
} as const;
