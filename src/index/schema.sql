-- The index: a cache that can be deleted at any time. See format/index.md.
-- Tables begin with t_ and may change with any version; the views below them are for people.
-- A row of a job has the id (job << 20 | n), so that all rows of a job lie together.

CREATE TABLE t_about(key TEXT PRIMARY KEY, value) WITHOUT ROWID;
CREATE TABLE t_look(id INTEGER PRIMARY KEY, stamps BLOB NOT NULL, names BLOB NOT NULL);
CREATE TABLE t_unit(id INTEGER PRIMARY KEY, name TEXT NOT NULL, factor REAL NOT NULL,
  offset REAL NOT NULL);
CREATE TABLE t_tag(id INTEGER PRIMARY KEY, name TEXT NOT NULL, of TEXT NOT NULL,
  unit INTEGER, over INTEGER, places INTEGER NOT NULL, step REAL NOT NULL);
CREATE TABLE t_places(id INTEGER PRIMARY KEY, names TEXT NOT NULL);
CREATE TABLE t_job(id INTEGER PRIMARY KEY, name TEXT NOT NULL, file TEXT NOT NULL,
  title TEXT, engine TEXT, owner TEXT, first INTEGER, last INTEGER);
CREATE INDEX t_job_last ON t_job(last, name);
CREATE TABLE t_need(name TEXT, kind INTEGER, job INTEGER,
  PRIMARY KEY(kind, name, job)) WITHOUT ROWID;
CREATE TABLE t_entry(id INTEGER PRIMARY KEY, day INTEGER, minute INTEGER, corrects INTEGER,
  title TEXT, line INTEGER NOT NULL);
CREATE TABLE t_fact(id INTEGER PRIMARY KEY, tag INTEGER NOT NULL, entry INTEGER NOT NULL,
  subject TEXT, text TEXT NOT NULL, state TEXT, line INTEGER NOT NULL);
-- Facts as a log leaves them that only the logs it continues say: told is where (21-001.job:8), line
-- that of its own `continues`.
CREATE TABLE t_carried(id INTEGER PRIMARY KEY, tag INTEGER NOT NULL, subject TEXT,
  text TEXT NOT NULL, told TEXT NOT NULL, line INTEGER NOT NULL);
-- How readings stand together: units, places, a line apart (step), and their texts' width.
CREATE TABLE t_shape(id INTEGER PRIMARY KEY, unit INTEGER, at_unit INTEGER, places INTEGER NOT NULL,
  width INTEGER, step INTEGER);
-- The readings of one tag, entry, condition and shape. Each is the stem and its part of texts: so many bytes wide, or between commas when width
-- is null. A mark may stand behind: ? suspect, x struck, ^ repeated, ~ replaced by a correction. The number is
-- there where the text does not tell it: fractions, gauges that were off.
CREATE TABLE t_run(id INTEGER PRIMARY KEY, tag INTEGER NOT NULL, entry INTEGER NOT NULL,
  at TEXT, of TEXT, shape INTEGER NOT NULL, stem TEXT, texts TEXT, line INTEGER NOT NULL,
  number REAL);
-- Items that came to sit at places, by tag of the placement, entry and set: two lists of t_places, the
-- lines so far apart (step). now: 1 for each that sits there still, else 0; null when all do.
CREATE TABLE t_sits(id INTEGER PRIMARY KEY, tag INTEGER NOT NULL, entry INTEGER NOT NULL,
  of TEXT, items INTEGER NOT NULL, place_of TEXT, places INTEGER NOT NULL, now TEXT,
  line INTEGER NOT NULL, step INTEGER);
-- As the log leaves it. Numbers count thousandths of the tag's last shown place. deltas holds what
-- each place has more than the least: width digits each, times 1, 10, 100 or 1000 (width * 10 + how
-- many tens is form); null when all are the same. One to four digits are of base 90, from # on; more
-- are decimal. how is a letter, of all or of each: @ and 1 measured, 2 nominal, 4 partial, 8 carried
-- on, 16 beyond its ends; null is @. Of many that are of two kinds: two letters, then a bit each in
-- hexadecimal, 1 where the second holds.
CREATE TABLE t_last(tag INTEGER, least INTEGER, job INTEGER, at TEXT,
  of TEXT, places INTEGER, how TEXT, form INTEGER, deltas TEXT,
  PRIMARY KEY(tag, least, job, at)) WITHOUT ROWID;
-- The bounds of all good readings, where they are wider than what the log leaves.
CREATE TABLE t_ever(tag INTEGER, job INTEGER, at TEXT, least INTEGER, greatest INTEGER,
  PRIMARY KEY(tag, job, at)) WITHOUT ROWID;
-- What was read again at once, of a job and tag: the squares of the readings about the mean of their
-- thing, in SI, as that log leaves it. t_again_all is their sum over the book, made anew with each
-- change: to ask for it is one row, however many jobs there are. sd is of one reading.
CREATE TABLE t_again(job INTEGER, tag INTEGER, things INTEGER NOT NULL, readings INTEGER NOT NULL,
  squares REAL NOT NULL, PRIMARY KEY(job, tag)) WITHOUT ROWID;
CREATE TABLE t_again_all(tag INTEGER PRIMARY KEY, jobs INTEGER NOT NULL, things INTEGER NOT NULL,
  readings INTEGER NOT NULL, squares REAL NOT NULL, sd REAL NOT NULL);
-- Facts by their letters and digits, and sets of items that came to sit, by the tag of the placement;
-- 65534 for a set that nothing but its items names.
CREATE TABLE t_word(tag INTEGER, squeezed TEXT, job INTEGER, now INTEGER,
  PRIMARY KEY(tag, squeezed, job)) WITHOUT ROWID;
CREATE VIRTUAL TABLE t_said USING fts5(said, content='', columnsize=0,
  tokenize="unicode61 remove_diacritics 2");

CREATE VIEW jobs AS
SELECT name AS job, 'jobs/' || file || '.job' AS file, title, engine, owner,
  date(first * 86400, 'unixepoch') AS first, date(last * 86400, 'unixepoch') AS last
FROM t_job;

CREATE VIEW entries AS
SELECT j.name AS job, e.id & 1048575 AS entry, date(e.day * 86400, 'unixepoch') AS day,
  CASE WHEN e.minute >= 0 THEN printf('%02d:%02d', e.minute / 60, e.minute % 60) END AS time, e.corrects, e.title, e.line
FROM t_entry e JOIN t_job j ON j.id = e.id >> 20;

CREATE VIEW facts AS
SELECT j.name AS job, date(e.day * 86400, 'unixepoch') AS day, f.entry, t.name AS tag, f.subject,
  f.text, coalesce(f.state, 'ok') AS state, f.line
FROM t_fact f JOIN t_job j ON j.id = f.id >> 20 JOIN t_tag t ON t.id = f.tag
  JOIN t_entry e ON e.id = (f.id >> 20 << 20) + f.entry;

CREATE VIEW stages AS
SELECT job, day, entry, text AS stage, line FROM facts
WHERE tag = (SELECT value FROM t_about WHERE key = 'stage') AND state = 'ok';

CREATE VIEW parts AS
SELECT f.job, f.day, f.entry, f.tag, f.subject, f.text AS part, f.line
FROM facts f JOIN t_about a ON a.key = 'part ' || f.tag WHERE f.state = 'ok';

CREATE VIEW places AS
SELECT j.name AS job, date(e.day * 86400, 'unixepoch') AS day, s.entry, t.name AS tag,
  coalesce(s.place_of, '') || p.value AS place, coalesce(s.of, '') || i.value AS item,
  substr(coalesce(s.now, ''), i.key + 1, 1) <> '0' AS now,
  s.line + i.key * coalesce(s.step, 0) AS line
FROM t_sits s JOIN t_job j ON j.id = s.id >> 20 JOIN t_tag t ON t.id = s.tag
  JOIN t_entry e ON e.id = (s.id >> 20 << 20) + s.entry
  JOIN t_places a ON a.id = s.items JOIN t_places b ON b.id = s.places
  JOIN json_each(a.names) i JOIN json_each(b.names) p ON p.key = i.key;

CREATE VIEW readings AS
SELECT job, day, entry, tag, subject, rtrim(raw, '?x^~') AS text, unit,
  coalesce(number, (CAST(raw AS REAL) * factor + offset - d_offset) / d_factor) AS number,
  number_unit, at, at_unit,
  CASE substr(raw, -1) WHEN '?' THEN 'suspect' WHEN 'x' THEN 'struck' WHEN '^' THEN 'repeat'
    WHEN '~' THEN 'replaced' ELSE 'ok' END AS state, line
FROM (
  SELECT j.name AS job, date(e.day * 86400, 'unixepoch') AS day, r.entry, t.name AS tag,
    coalesce(r.of, '') || n.value AS subject, u.name AS unit, u.factor, u.offset,
    d.factor AS d_factor, d.offset AS d_offset, d.name AS number_unit, r.number, r.at,
    o.name AS at_unit, r.line + n.key * coalesce(h.step, 0) AS line,
    coalesce(r.stem, '') || CASE WHEN h.width IS NULL
      THEN json_extract('["' || replace(r.texts, ',', '","') || '"]', '$[' || n.key || ']')
      ELSE substr(coalesce(r.texts, ''), n.key * h.width + 1, h.width) END AS raw
  FROM t_run r JOIN t_job j ON j.id = r.id >> 20 JOIN t_tag t ON t.id = r.tag
    JOIN t_entry e ON e.id = (r.id >> 20 << 20) + r.entry JOIN t_shape h ON h.id = r.shape
    JOIN t_places p ON p.id = h.places
    LEFT JOIN t_unit u ON u.id = h.unit LEFT JOIN t_unit d ON d.id = t.unit
    LEFT JOIN t_unit o ON o.id = h.at_unit JOIN json_each(p.names) n);

CREATE VIEW state AS
SELECT job, tag, subject, at, at_unit,
  round((least + CASE width WHEN 0 THEN 0
    WHEN 1 THEN unicode(digits) - 35
    WHEN 2 THEN unicode(digits) * 90 + unicode(substr(digits, 2)) - 3185
    WHEN 3 THEN unicode(digits) * 8100 + unicode(substr(digits, 2)) * 90
      + unicode(substr(digits, 3)) - 286685
    WHEN 4 THEN unicode(digits) * 729000 + unicode(substr(digits, 2)) * 8100
      + unicode(substr(digits, 3)) * 90 + unicode(substr(digits, 4)) - 25801685
    ELSE CAST(digits AS INTEGER) END
    * CASE form % 10 WHEN 1 THEN 10 WHEN 2 THEN 100 WHEN 3 THEN 1000 ELSE 1 END)
    * step / 1000, shown + 3) AS number,
  unit, how & 1 AS measured, how >> 1 & 1 AS nominal, how >> 2 & 1 AS partial
FROM (
  SELECT j.name AS job, t.name AS tag, coalesce(l.of, '') || n.value AS subject,
    nullif(l.at, '') AS at, o.name AS at_unit, u.name AS unit,
    l.least, coalesce(l.form, 0) AS form, coalesce(l.form / 10, 0) AS width,
    substr(l.deltas, n.key * (l.form / 10) + 1, l.form / 10) AS digits, t.step, t.places AS shown,
    coalesce(unicode(substr(l.how, CASE WHEN length(l.how) = 1 THEN 1
      WHEN substr(l.how, 3, 1) GLOB '[0-9a-f]'
        THEN 1 + (instr('0123456789abcdef', substr(l.how, 3 + n.key / 4, 1)) - 1
          >> 3 - n.key % 4 & 1)
      ELSE n.key + 1 END)), 64) & 31 AS how
  FROM t_last l JOIN t_job j ON j.id = l.job JOIN t_tag t ON t.id = l.tag
    JOIN t_places p ON p.id = l.places LEFT JOIN t_unit u ON u.id = t.unit
    LEFT JOIN t_unit o ON o.id = t.over JOIN json_each(p.names) n);

CREATE VIEW computed AS
SELECT job, tag, subject, number, unit, nominal, partial FROM state WHERE NOT measured;

CREATE VIEW repeats AS
SELECT j.name AS job, t.name AS tag, a.things, a.readings,
  a.squares / coalesce(u.factor * u.factor, 1) AS squares, u.name AS unit
FROM t_again a JOIN t_job j ON j.id = a.job JOIN t_tag t ON t.id = a.tag
  LEFT JOIN t_unit u ON u.id = t.unit;

CREATE VIEW repeatability AS
SELECT t.name AS tag, a.jobs, a.things, a.readings, a.readings - a.things AS df,
  a.sd / coalesce(u.factor, 1) AS sd, u.name AS unit
FROM t_again_all a JOIN t_tag t ON t.id = a.tag LEFT JOIN t_unit u ON u.id = t.unit;
