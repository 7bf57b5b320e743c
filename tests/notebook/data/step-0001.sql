-- A notebook as the first step (0001) made it, with invented content. Never to be changed.
BEGIN TRANSACTION;
CREATE TABLE builds (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	created_at TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (id), 
	CONSTRAINT created_at_is_utc CHECK (created_at LIKE '____-__-__T__:__:__.______Z'), 
	UNIQUE (name)
)
 STRICT

;
INSERT INTO "builds" VALUES('11111111-1111-4111-8111-111111111111','Old barrel','2026-03-01T08:00:00.000001Z','invented; found in a shed');
CREATE TABLE notebook_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT notebook_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "notebook_version" VALUES('0001');
CREATE TABLE revisions (
	id TEXT NOT NULL, 
	build_id TEXT NOT NULL, 
	number INTEGER NOT NULL, 
	parent_number INTEGER, 
	author TEXT NOT NULL, 
	note TEXT NOT NULL, 
	kept_at TEXT NOT NULL, 
	record_toml TEXT NOT NULL, 
	record_sha256 TEXT NOT NULL, 
	record_json TEXT NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (build_id, number), 
	FOREIGN KEY(build_id, parent_number) REFERENCES revisions (build_id, number), 
	CONSTRAINT parent_comes_first CHECK (number >= 1 AND parent_number < number), 
	CONSTRAINT kept_at_is_utc CHECK (kept_at LIKE '____-__-__T__:__:__.______Z'), 
	CONSTRAINT record_sha256_is_whole CHECK (length(record_sha256) = 64), 
	FOREIGN KEY(build_id) REFERENCES builds (id)
)
 STRICT

;
INSERT INTO "revisions" VALUES('22222221-2222-4222-8222-222222222222','11111111-1111-4111-8111-111111111111',1,NULL,'Kim','note 1','2026-03-01T09:30:00.250000Z','# invented
name = "Old barrel"
[crank]
stroke_mm = 50.0
','df2b60b906167f2f046430dcfb70f2d84e5543619ef86eb50acca6ad9404cb58','{"name": "Old barrel", "crank": {"stroke_mm": 50.0}}');
INSERT INTO "revisions" VALUES('22222222-2222-4222-8222-222222222222','11111111-1111-4111-8111-111111111111',2,1,'Kim','note 2','2026-03-02T09:30:00.250000Z','# invented
name = "Old barrel"
[crank]
stroke_mm = 50.05
','f6a296576da5be0013e175cbb0a3b1e49be4a58d211e43a398f90061b9b17687','{"name": "Old barrel", "crank": {"stroke_mm": 50.05}}');
INSERT INTO "revisions" VALUES('22222223-2222-4222-8222-222222222222','11111111-1111-4111-8111-111111111111',3,1,'Ada','note 3','2026-03-03T09:30:00.250000Z','# invented
name = "Old barrel"
[crank]
stroke_mm = 50.05
note = "Kolben neu, ±0.02"
','40ac4415f6f80a892ce741b856cd6f8066ccd015d8386e2da4502470c45991e7','{"name": "Old barrel", "crank": {"stroke_mm": 50.05, "note": "Kolben neu, \u00b10.02"}}');
CREATE TRIGGER revisions_are_not_changed BEFORE UPDATE ON revisions BEGIN SELECT RAISE(ABORT, 'a revision in the notebook is never changed or deleted'); END;
CREATE TRIGGER revisions_are_not_deleted BEFORE DELETE ON revisions BEGIN SELECT RAISE(ABORT, 'a revision in the notebook is never changed or deleted'); END;
CREATE TRIGGER revisions_are_not_replaced BEFORE INSERT ON revisions WHEN EXISTS (SELECT 1 FROM revisions WHERE id = NEW.id OR (build_id = NEW.build_id AND number = NEW.number)) BEGIN SELECT RAISE(ABORT, 'a revision in the notebook is never changed or deleted'); END;
COMMIT;
