/** Who is asking. Made once per request from the token; use cases take it and never look at headers. */

export type Role = 'curator' | 'lead' | 'contributor' | 'reader' | 'anonymous';

export interface Principal {
  readonly role: Role;
  /** The lab of a lead or contributor; null for the others. */
  readonly lab: { readonly id: number; readonly slug: string } | null;
  /** Null for anonymous. */
  readonly tokenId: string | null;
}

export const anonymous: Principal = { role: 'anonymous', lab: null, tokenId: null };
