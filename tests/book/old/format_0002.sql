-- A book of format 2, as text. Invented.
PRAGMA application_id = 1347896404;
PRAGMA user_version = 2;
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
 version_num VARCHAR(32) NOT NULL,
 CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0002');
CREATE TABLE attachments (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 file TEXT NOT NULL,
 kind TEXT NOT NULL,
 media_type TEXT NOT NULL,
 sha256 TEXT NOT NULL,
 dig TEXT,
 CONSTRAINT pk_attachments PRIMARY KEY (uuid),
 CONSTRAINT uq_attachments UNIQUE (file),
 CONSTRAINT fk_attachments_sha256 FOREIGN KEY(sha256) REFERENCES contents (sha256),
 CONSTRAINT fk_attachments_dig FOREIGN KEY(dig) REFERENCES digs (dig) DEFERRABLE INITIALLY DEFERRED
);
CREATE TABLE batches (
 uuid TEXT NOT NULL,
 number BIGINT NOT NULL,
 at TEXT NOT NULL,
 who TEXT NOT NULL,
 why TEXT NOT NULL,
 undoes TEXT,
 CONSTRAINT pk_batches PRIMARY KEY (uuid),
 CONSTRAINT uq_batches UNIQUE (number),
 CONSTRAINT fk_batches_undoes FOREIGN KEY(undoes) REFERENCES batches (uuid)
);
INSERT INTO "batches" VALUES('batch-1',1,'2026-07-01T18:00:00+00:00','Ann','typed in camp',NULL);
INSERT INTO "batches" VALUES('batch-2',2,'2026-07-02T18:00:00+00:00','Bo','counted again',NULL);
CREATE TABLE book (
 id TEXT NOT NULL,
 name TEXT NOT NULL,
 made_at TEXT NOT NULL,
 made_by TEXT NOT NULL,
 CONSTRAINT pk_book PRIMARY KEY (id)
);
INSERT INTO "book" VALUES('b-1','Invented Creek','2026-07-01T08:00:00+00:00','0.1.0');
CREATE TABLE buckets (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 number BIGINT NOT NULL,
 bank_m3 DOUBLE,
 loose_m3 DOUBLE,
 pans DOUBLE,
 CONSTRAINT pk_buckets PRIMARY KEY (uuid),
 CONSTRAINT uq_buckets UNIQUE (number)
);
CREATE TABLE cleanups (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 cleanup TEXT NOT NULL,
 area TEXT,
 bank_volume_m3 DOUBLE,
 weighed_mg DOUBLE,
 fineness DOUBLE,
 date TEXT,
 hours DOUBLE,
 note TEXT,
 CONSTRAINT pk_cleanups PRIMARY KEY (uuid),
 CONSTRAINT uq_cleanups UNIQUE (cleanup)
);
CREATE TABLE contents (
 sha256 TEXT NOT NULL,
 content BLOB NOT NULL,
 CONSTRAINT pk_contents PRIMARY KEY (sha256)
);
CREATE TABLE days (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 date TEXT NOT NULL,
 "by" TEXT,
 hours DOUBLE,
 dug_hours DOUBLE,
 weather TEXT,
 water_level TEXT,
 cost DOUBLE,
 note TEXT,
 CONSTRAINT pk_days PRIMARY KEY (uuid)
);
INSERT INTO "days" VALUES('u-4',1,1,NULL,'{}','{}','2026-07-01',NULL,6.0,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE digs (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 dig TEXT NOT NULL,
 line TEXT,
 kind TEXT,
 easting_m DOUBLE,
 northing_m DOUBLE,
 peg TEXT,
 toward TEXT,
 along_m DOUBLE,
 across_m DOUBLE,
 bearing_deg DOUBLE,
 elevation_m DOUBLE,
 date TEXT,
 "by" TEXT,
 bottom_m DOUBLE,
 stopped_by TEXT,
 bedrock TEXT,
 fabric TEXT,
 surface TEXT,
 landmark TEXT,
 water_level TEXT,
 note TEXT,
 CONSTRAINT pk_digs PRIMARY KEY (uuid),
 CONSTRAINT uq_digs UNIQUE (dig)
);
INSERT INTO "digs" VALUES('u-1',1,1,NULL,'{}','{}','T1','1',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE features (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 number BIGINT NOT NULL,
 role TEXT NOT NULL,
 name TEXT,
 geometry TEXT NOT NULL,
 CONSTRAINT pk_features PRIMARY KEY (uuid),
 CONSTRAINT uq_features UNIQUE (number)
);
CREATE TABLE grains (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 sample TEXT NOT NULL,
 number BIGINT NOT NULL,
 long_mm DOUBLE,
 middle_mm DOUBLE,
 short_mm DOUBLE,
 mg DOUBLE,
 roundness TEXT,
 rim TEXT,
 attached TEXT,
 note TEXT,
 CONSTRAINT pk_grains PRIMARY KEY (uuid),
 CONSTRAINT uq_grains UNIQUE (sample, number),
 CONSTRAINT fk_grains_sample FOREIGN KEY(sample) REFERENCES samples (sample) DEFERRABLE INITIALLY DEFERRED
);
CREATE TABLE ground (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 name TEXT NOT NULL,
 log_id TEXT,
 crs TEXT,
 pan_volume_m3 DOUBLE,
 swell DOUBLE,
 gold_price_per_g DOUBLE,
 price_date TEXT,
 currency TEXT,
 fineness DOUBLE,
 receiver_error_m DOUBLE,
 min_pay_m DOUBLE,
 hand_depth_limit_m DOUBLE,
 costs TEXT NOT NULL,
 plant TEXT NOT NULL,
 CONSTRAINT pk_ground PRIMARY KEY (uuid)
);
CREATE TABLE history (
 batch TEXT NOT NULL,
 place BIGINT NOT NULL,
 record_table TEXT NOT NULL,
 record TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 was TEXT,
 now TEXT, dig TEXT,
 CONSTRAINT pk_history PRIMARY KEY (batch, place),
 CONSTRAINT fk_history_batch FOREIGN KEY(batch) REFERENCES batches (uuid)
);
INSERT INTO "history" VALUES('batch-1',0,'digs','u-1',1,1,NULL,NULL,'{"dig": "T1", "line": "1"}','T1');
INSERT INTO "history" VALUES('batch-1',1,'samples','u-2',1,1,NULL,NULL,'{"sample": "S1", "dig": "T1", "pans": 4.0, "typed": {"top_ft": "1"}}','T1');
INSERT INTO "history" VALUES('batch-1',2,'tallies','u-3',1,1,NULL,NULL,'{"sample": "S1", "size_class": "all", "colors": 2}','T1');
INSERT INTO "history" VALUES('batch-1',3,'days','u-4',1,1,NULL,NULL,'{"date": "2026-07-01", "hours": 6.0}',NULL);
INSERT INTO "history" VALUES('batch-2',0,'tallies','u-3',2,1,NULL,'{"sample": "S1", "size_class": "all", "colors": 2}','{"sample": "S1", "size_class": "all", "colors": 3}','T1');
CREATE TABLE layers (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 dig TEXT NOT NULL,
 top_m DOUBLE NOT NULL,
 bottom_m DOUBLE NOT NULL,
 material TEXT,
 packing TEXT,
 matrix TEXT,
 wet TEXT,
 worked TEXT,
 largest_clast_m DOUBLE,
 clast_shape TEXT,
 oversize_percent DOUBLE,
 stain TEXT,
 base TEXT,
 note TEXT,
 CONSTRAINT pk_layers PRIMARY KEY (uuid),
 CONSTRAINT uq_layers UNIQUE (dig, top_m),
 CONSTRAINT fk_layers_dig FOREIGN KEY(dig) REFERENCES digs (dig) DEFERRABLE INITIALLY DEFERRED
);
CREATE TABLE pantests (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 number BIGINT NOT NULL,
 "by" TEXT,
 size_class TEXT NOT NULL,
 put_in BIGINT NOT NULL,
 found BIGINT NOT NULL,
 CONSTRAINT pk_pantests PRIMARY KEY (uuid),
 CONSTRAINT uq_pantests UNIQUE (number)
);
CREATE TABLE rocks (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 number BIGINT NOT NULL,
 dig TEXT,
 easting_m DOUBLE,
 northing_m DOUBLE,
 kind TEXT,
 name TEXT,
 stain TEXT,
 veinlets TEXT,
 long_m DOUBLE,
 middle_m DOUBLE,
 short_m DOUBLE,
 imbricated BOOLEAN,
 set_down_by TEXT,
 dip_deg DOUBLE,
 strike_deg DOUBLE,
 note TEXT,
 CONSTRAINT pk_rocks PRIMARY KEY (uuid),
 CONSTRAINT uq_rocks UNIQUE (number),
 CONSTRAINT fk_rocks_dig FOREIGN KEY(dig) REFERENCES digs (dig) DEFERRABLE INITIALLY DEFERRED
);
CREATE TABLE samples (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 sample TEXT NOT NULL,
 dig TEXT NOT NULL,
 top_m DOUBLE,
 bottom_m DOUBLE,
 taken TEXT NOT NULL,
 method TEXT,
 volume_m3 DOUBLE,
 state TEXT,
 pans DOUBLE,
 pan_volume_m3 DOUBLE,
 screen_mm DOUBLE,
 oversize_m3 DOUBLE,
 boulders_left_out_m3 DOUBLE,
 washed_part DOUBLE,
 weighed_mg DOUBLE,
 balance_mg DOUBLE,
 black_sand_mg DOUBLE,
 fineness DOUBLE,
 duplicate_of TEXT,
 blank BOOLEAN NOT NULL,
 date TEXT,
 "by" TEXT,
 note TEXT,
 CONSTRAINT pk_samples PRIMARY KEY (uuid),
 CONSTRAINT uq_samples UNIQUE (sample),
 CONSTRAINT fk_samples_dig FOREIGN KEY(dig) REFERENCES digs (dig) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "samples" VALUES('u-2',1,1,NULL,'{"top_ft": "1"}','{}','S1','T1',NULL,NULL,'channel',NULL,NULL,NULL,4.0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,NULL,NULL,NULL);
CREATE TABLE tallies (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 sample TEXT NOT NULL,
 size_class TEXT NOT NULL,
 colors BIGINT NOT NULL,
 mg DOUBLE,
 CONSTRAINT pk_tallies PRIMARY KEY (uuid),
 CONSTRAINT uq_tallies UNIQUE (sample, size_class),
 CONSTRAINT fk_tallies_sample FOREIGN KEY(sample) REFERENCES samples (sample) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "tallies" VALUES('u-3',2,1,NULL,'{}','{}','S1','all',3,NULL);
CREATE TABLE waypoints (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 name TEXT NOT NULL,
 longitude DOUBLE NOT NULL,
 latitude DOUBLE NOT NULL,
 elevation_m DOUBLE,
 time TEXT,
 note TEXT,
 CONSTRAINT pk_waypoints PRIMARY KEY (uuid),
 CONSTRAINT uq_waypoints UNIQUE (name)
);
CREATE TABLE weighings (
 uuid TEXT NOT NULL,
 version BIGINT NOT NULL,
 sequence BIGINT NOT NULL,
 origin TEXT,
 typed TEXT NOT NULL,
 extra TEXT NOT NULL,
 weighing TEXT NOT NULL,
 samples TEXT NOT NULL,
 weighed_mg DOUBLE NOT NULL,
 colors BIGINT,
 fineness DOUBLE,
 note TEXT,
 CONSTRAINT pk_weighings PRIMARY KEY (uuid),
 CONSTRAINT uq_weighings UNIQUE (weighing)
);
CREATE UNIQUE INDEX uq_days ON days (date, coalesce(by, ''));
CREATE INDEX ix_samples_dig ON samples (dig);
CREATE INDEX ix_rocks_dig ON rocks (dig);
CREATE INDEX ix_attachments_dig ON attachments (dig);
CREATE INDEX ix_history_record ON history (record);
CREATE INDEX ix_history_dig ON history (dig);
COMMIT;
