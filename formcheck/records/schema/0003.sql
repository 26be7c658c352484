-- Where the camera stood, as far as the clip tells: not known for what was recorded before.
ALTER TABLE recorded_set ADD COLUMN camera_distance_m REAL;
ALTER TABLE recorded_set ADD COLUMN camera_elevation_deg REAL;
