-- The text of a derivation as it was written: taking it apart and writing it anew took longer than all else of an upload.
alter table derivation alter column derived type json using derived::json;
--> statement-breakpoint
-- A new type forgets that it is stored as it is.
alter table derivation alter column derived set storage external;
