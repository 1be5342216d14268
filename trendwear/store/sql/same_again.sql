-- name: files_of_last_load
-- The files of the last load, with when and by which version it was taken in.
select s.name, s.sha256, l.load, l.loaded_at, l.version
from source_file s join load l on l.load = s.load
where l.load = (select max(load) from load);

-- name: left_open
-- What that load refused, what waits, and what was taken back or put back since.
select (select count(*) from refused where load = $load)
     + (select count(*) from waiting)
     + (select count(*) from take_back
        where load = $load or made_at >= $loaded_at or undone_at >= $loaded_at);
