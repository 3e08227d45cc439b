-- Frames that count on from a first one are that one number, not eight bytes a point.
alter table track add column first_frame integer;
