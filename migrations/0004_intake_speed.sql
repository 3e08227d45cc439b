-- Frames that count on from a first one are that one number, not eight bytes a point.
alter table track add column first_frame integer;
--> statement-breakpoint
-- The text of a derivation as it was written: taking it apart and writing it anew took longer than all else of an upload.
alter table derivation alter column derived type json using derived::json;
