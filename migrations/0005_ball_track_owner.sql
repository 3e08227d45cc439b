-- Whether another shot of the lab has a ball track already.
create index track_ball_positions on track (sha256(positions)) where kind = 'ball';
