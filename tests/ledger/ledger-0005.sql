-- A ledger as the edition before one approval left it: factors and a plan approved outside the seal.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0005');
CREATE TABLE approval (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	plan_digest VARCHAR(32) NOT NULL, 
	person VARCHAR(80) NOT NULL, 
	note TEXT DEFAULT '' NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_approval PRIMARY KEY (id), 
	CONSTRAINT fk_approval_job_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_approval_plan_digest_body FOREIGN KEY(plan_digest) REFERENCES body (digest)
);
INSERT INTO "approval" VALUES(1,1,'3e57721e0a3aec0b8a7fde5a5bc8acd9','C. Person','print it','2026-12-01T01:46:37+00:00');
CREATE TABLE body (
	digest VARCHAR(32) NOT NULL, 
	json TEXT NOT NULL, 
	CONSTRAINT pk_body PRIMARY KEY (digest)
);
INSERT INTO "body" VALUES('d15f25ab9d1f5a2199d492971695d552','{"good":"sagger.goods.lot:Lot","fields":{"name":"L-1","powder":"steel","origin":"received","curve":null,"apparent_density":null,"tap_density":null,"solid_density":null,"green_density":null,"oxygen":null,"exposures":null,"price":null}}');
INSERT INTO "body" VALUES('60f67703df84b3de786959bb3e3279c6','{"good":"sagger.goods.learned:FactorProposal","fields":{"material":"steel","box":"box-1","lot":"","axes":[{"good":"sagger.goods.learned:AxisLearned","fields":{"axis":"x","readings":1.0,"pieces":1.0,"found":1.0,"found_u":1.0,"freedom":1.0,"offset_mm":1.0,"offset_u_mm":1.0,"offset_p":1.0,"origin_k":1.0,"origin_u":1.0,"before":1.0,"before_u":1.0,"conflict":1.0,"weight":1.0,"inflation":1.0,"k":1.0,"u":1.0,"verdict":"change"}},{"good":"sagger.goods.learned:AxisLearned","fields":{"axis":"y","readings":1.0,"pieces":1.0,"found":1.0,"found_u":1.0,"freedom":1.0,"offset_mm":1.0,"offset_u_mm":1.0,"offset_p":1.0,"origin_k":1.0,"origin_u":1.0,"before":1.0,"before_u":1.0,"conflict":1.0,"weight":1.0,"inflation":1.0,"k":1.0,"u":1.0,"verdict":"change"}},{"good":"sagger.goods.learned:AxisLearned","fields":{"axis":"z","readings":1.0,"pieces":1.0,"found":1.0,"found_u":1.0,"freedom":1.0,"offset_mm":1.0,"offset_u_mm":1.0,"offset_p":1.0,"origin_k":1.0,"origin_u":1.0,"before":1.0,"before_u":1.0,"conflict":1.0,"weight":1.0,"inflation":1.0,"k":1.0,"u":1.0,"verdict":"change"}}],"factors":{"good":"sagger.goods.factors:Factors","fields":{"k":{"numbers":[1.19,1.19,1.19],"type":"<f8","shape":[3]},"u":{"numbers":[0.001,0.001,0.001],"type":"<f8","shape":[3]},"material":"steel","origin":"proposed","lot":""}},"bed":{"good":"sagger.goods.learned:BedMap","fields":{"box":"box-1","material":"steel","places_mm":{"numbers":[1.0,0.0,0.0,0.0,1.0,0.0,0.0,0.0,1.0],"type":"<f8","shape":[3,3]},"density":{"numbers":[0.5,0.55,0.6],"type":"<f8","shape":[3]},"noise":0.001,"axes":[0],"amplitude":0.0,"reach_mm":{"numbers":[1.0,1.0,1.0],"type":"<f8","shape":[3]},"reference":0.55}},"scatter":{"good":"sagger.goods.learned:Scatter","fields":{"material":"steel","lot":0.001,"bed":0.001,"furnace":0.001,"part":0.001,"gauge_mm":0.001,"readings":9,"lots":9,"beds":9,"furnaces":9,"origin":"readings"}},"before_scatter_mm":0.1,"place_scatter_mm":0.05,"length_mm":50.0,"notes":[],"readings":[1,2,3]}}');
INSERT INTO "body" VALUES('a5b09b153fa72d7179591a71e2e87e0a','{"good":"sagger.goods.learned:Scatter","fields":{"material":"steel","lot":0.001,"bed":0.001,"furnace":0.001,"part":0.001,"gauge_mm":0.001,"readings":9,"lots":9,"beds":9,"furnaces":9,"origin":"readings"}}');
INSERT INTO "body" VALUES('9f8c933564e04f90c7835244fddad672','{"good":"sagger.goods.learned:BedMap","fields":{"box":"box-1","material":"steel","places_mm":{"numbers":[1.0,0.0,0.0,0.0,1.0,0.0,0.0,0.0,1.0],"type":"<f8","shape":[3,3]},"density":{"numbers":[0.5,0.55,0.6],"type":"<f8","shape":[3]},"noise":0.001,"axes":[0],"amplitude":0.0,"reach_mm":{"numbers":[1.0,1.0,1.0],"type":"<f8","shape":[3]},"reference":0.55}}');
INSERT INTO "body" VALUES('05985673b4e0208cfad53f01cf08edfa','{"good":"sagger.goods.learned:FactorProposal","fields":{"material":"steel","box":"box-1","lot":"","axes":[{"good":"sagger.goods.learned:AxisLearned","fields":{"axis":"x","readings":1.0,"pieces":1.0,"found":1.0,"found_u":1.0,"freedom":1.0,"offset_mm":1.0,"offset_u_mm":1.0,"offset_p":1.0,"origin_k":1.0,"origin_u":1.0,"before":1.0,"before_u":1.0,"conflict":1.0,"weight":1.0,"inflation":1.0,"k":1.0,"u":1.0,"verdict":"change"}},{"good":"sagger.goods.learned:AxisLearned","fields":{"axis":"y","readings":1.0,"pieces":1.0,"found":1.0,"found_u":1.0,"freedom":1.0,"offset_mm":1.0,"offset_u_mm":1.0,"offset_p":1.0,"origin_k":1.0,"origin_u":1.0,"before":1.0,"before_u":1.0,"conflict":1.0,"weight":1.0,"inflation":1.0,"k":1.0,"u":1.0,"verdict":"change"}},{"good":"sagger.goods.learned:AxisLearned","fields":{"axis":"z","readings":1.0,"pieces":1.0,"found":1.0,"found_u":1.0,"freedom":1.0,"offset_mm":1.0,"offset_u_mm":1.0,"offset_p":1.0,"origin_k":1.0,"origin_u":1.0,"before":1.0,"before_u":1.0,"conflict":1.0,"weight":1.0,"inflation":1.0,"k":1.0,"u":1.0,"verdict":"change"}}],"factors":{"good":"sagger.goods.factors:Factors","fields":{"k":{"numbers":[1.2,1.2,1.2],"type":"<f8","shape":[3]},"u":{"numbers":[0.001,0.001,0.001],"type":"<f8","shape":[3]},"material":"steel","origin":"proposed","lot":""}},"bed":{"good":"sagger.goods.learned:BedMap","fields":{"box":"box-1","material":"steel","places_mm":{"numbers":[1.0,0.0,0.0,0.0,1.0,0.0,0.0,0.0,1.0],"type":"<f8","shape":[3,3]},"density":{"numbers":[0.5,0.55,0.6],"type":"<f8","shape":[3]},"noise":0.001,"axes":[0],"amplitude":0.0,"reach_mm":{"numbers":[1.0,1.0,1.0],"type":"<f8","shape":[3]},"reference":0.55}},"scatter":{"good":"sagger.goods.learned:Scatter","fields":{"material":"steel","lot":0.001,"bed":0.001,"furnace":0.001,"part":0.001,"gauge_mm":0.001,"readings":9,"lots":9,"beds":9,"furnaces":9,"origin":"readings"}},"before_scatter_mm":0.1,"place_scatter_mm":0.05,"length_mm":50.0,"notes":[],"readings":[1,2,3]}}');
INSERT INTO "body" VALUES('3e57721e0a3aec0b8a7fde5a5bc8acd9','"{}"');
CREATE TABLE build (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	job INTEGER, 
	number INTEGER NOT NULL, 
	powder VARCHAR(80) NOT NULL, 
	facts TEXT NOT NULL, 
	CONSTRAINT pk_build PRIMARY KEY (id), 
	CONSTRAINT fk_build_entry_entry FOREIGN KEY(entry) REFERENCES entry (id), 
	CONSTRAINT fk_build_job_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "build" VALUES(1,2,'B1',NULL,1,'steel','{"k": [1.2, 1.2, 1.23]}');
CREATE TABLE entry (
	id INTEGER NOT NULL, 
	what VARCHAR(20) NOT NULL, 
	person VARCHAR(80) NOT NULL, 
	note TEXT NOT NULL, 
	at VARCHAR(40) NOT NULL, 
	corrects INTEGER, 
	"before" VARCHAR(32) NOT NULL, 
	digest VARCHAR(32) NOT NULL, 
	CONSTRAINT pk_entry PRIMARY KEY (id), 
	CONSTRAINT fk_entry_corrects_entry FOREIGN KEY(corrects) REFERENCES entry (id)
);
INSERT INTO "entry" VALUES(1,'receive','A. Person','','2026-12-01T01:46:37+00:00',NULL,'','3681f0f86103e77cee4f5f095e7b3f83');
INSERT INTO "entry" VALUES(2,'box','A. Person','','2026-12-01T01:46:37+00:00',NULL,'3681f0f86103e77cee4f5f095e7b3f83','caed944c1dcc0348fb9d6e2fcc164aca');
INSERT INTO "entry" VALUES(3,'readings','A. Person','','2026-12-01T01:46:37+00:00',NULL,'caed944c1dcc0348fb9d6e2fcc164aca','a07198593f805ea5aed7f79c4b25d200');
INSERT INTO "entry" VALUES(4,'proposal','A. Person','','2026-12-01T01:46:37+00:00',NULL,'a07198593f805ea5aed7f79c4b25d200','d9f5b591a223be68eb0f6bdc9bd3c358');
INSERT INTO "entry" VALUES(5,'approval','B. Person','proposal 4','2026-12-01T01:46:37+00:00',NULL,'d9f5b591a223be68eb0f6bdc9bd3c358','eabc837561fb8d39847c01b159889837');
INSERT INTO "entry" VALUES(6,'proposal','A. Person','','2026-12-01T01:46:37+00:00',NULL,'eabc837561fb8d39847c01b159889837','fdb995cddfeaa0030db2552ec9f7d5db');
CREATE TABLE factors (
	id INTEGER NOT NULL, 
	material VARCHAR(80) NOT NULL, 
	lot VARCHAR(80) DEFAULT '' NOT NULL, 
	k_x FLOAT NOT NULL, 
	k_y FLOAT NOT NULL, 
	k_z FLOAT NOT NULL, 
	u_x FLOAT NOT NULL, 
	u_y FLOAT NOT NULL, 
	u_z FLOAT NOT NULL, 
	person VARCHAR(80) NOT NULL, 
	reason TEXT NOT NULL, 
	approved VARCHAR(40) NOT NULL, 
	replaces INTEGER, 
	CONSTRAINT pk_factors PRIMARY KEY (id), 
	CONSTRAINT fk_factors_replaces_factors FOREIGN KEY(replaces) REFERENCES factors (id)
);
INSERT INTO "factors" VALUES(1,'steel','',1.2,1.2,1.23,0.001,0.001,0.001,'A. Person','nine coupons','2026-12-01T01:46:37+00:00',NULL);
INSERT INTO "factors" VALUES(2,'steel','',1.19,1.19,1.19,0.001,0.001,0.001,'B. Person','27 coupons (proposal 4)','2026-12-01T01:46:37+00:00',1);
INSERT INTO "factors" VALUES(3,'steel','L-1',1.18,1.18,1.21,0.001,0.001,0.001,'A. Person','lot alone','2026-12-01T01:46:37+00:00',NULL);
CREATE TABLE fired (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	load VARCHAR(80) NOT NULL, 
	box VARCHAR(80) NOT NULL, 
	piece VARCHAR(80) NOT NULL, 
	tray VARCHAR(80) NOT NULL, 
	place VARCHAR(80) NOT NULL, 
	x_mm FLOAT, 
	y_mm FLOAT, 
	z_mm FLOAT, 
	CONSTRAINT pk_fired PRIMARY KEY (id), 
	CONSTRAINT fk_fired_entry_entry FOREIGN KEY(entry) REFERENCES entry (id)
);
CREATE TABLE instrument (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	u FLOAT NOT NULL, 
	u_shared FLOAT NOT NULL, 
	u_shared_relative FLOAT NOT NULL, 
	calibrated VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_instrument PRIMARY KEY (id), 
	CONSTRAINT fk_instrument_entry_entry FOREIGN KEY(entry) REFERENCES entry (id)
);
CREATE TABLE job (
	id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	order_digest VARCHAR(32) NOT NULL, 
	folder TEXT NOT NULL, 
	state VARCHAR(12) NOT NULL, 
	process INTEGER NOT NULL, 
	process_began VARCHAR(40) NOT NULL, 
	began VARCHAR(40) NOT NULL, 
	ended VARCHAR(40) DEFAULT '' NOT NULL, 
	edition VARCHAR(20) NOT NULL, 
	start VARCHAR(40) NOT NULL, 
	message TEXT DEFAULT '' NOT NULL, 
	plan_digest VARCHAR(32), host VARCHAR(80) DEFAULT '' NOT NULL, version INTEGER, person VARCHAR(80) DEFAULT '' NOT NULL, step VARCHAR(40) DEFAULT '' NOT NULL, doing VARCHAR(200) DEFAULT '' NOT NULL, done INTEGER DEFAULT '0' NOT NULL, total INTEGER DEFAULT '0' NOT NULL, stop BOOLEAN DEFAULT 0 NOT NULL, improving BOOLEAN DEFAULT 0 NOT NULL, enough BOOLEAN DEFAULT 0 NOT NULL, 
	CONSTRAINT pk_job PRIMARY KEY (id), 
	CONSTRAINT fk_job_plan_digest_body FOREIGN KEY(plan_digest) REFERENCES body (digest)
);
INSERT INTO "job" VALUES(1,'metal','order','folder','done',1,'','2026-12-01T01:46:37+00:00','2026-12-01T01:46:37+00:00','0','','','3e57721e0a3aec0b8a7fde5a5bc8acd9','',NULL,'','','',0,0,0,0,0);
CREATE TABLE learned (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	kind VARCHAR(10) NOT NULL, 
	material VARCHAR(80) NOT NULL, 
	box VARCHAR(80) NOT NULL, 
	body VARCHAR(32) NOT NULL, 
	CONSTRAINT pk_learned PRIMARY KEY (id), 
	CONSTRAINT fk_learned_entry_entry FOREIGN KEY(entry) REFERENCES entry (id), 
	CONSTRAINT fk_learned_body_body FOREIGN KEY(body) REFERENCES body (digest)
);
INSERT INTO "learned" VALUES(1,4,'proposal','steel','box-1','60f67703df84b3de786959bb3e3279c6');
INSERT INTO "learned" VALUES(2,5,'scatter','steel','box-1','a5b09b153fa72d7179591a71e2e87e0a');
INSERT INTO "learned" VALUES(3,5,'map','steel','box-1','9f8c933564e04f90c7835244fddad672');
INSERT INTO "learned" VALUES(4,6,'proposal','steel','box-1','05985673b4e0208cfad53f01cf08edfa');
CREATE TABLE load (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	furnace VARCHAR(80) NOT NULL, 
	programme TEXT NOT NULL, 
	CONSTRAINT pk_load PRIMARY KEY (id), 
	CONSTRAINT fk_load_entry_entry FOREIGN KEY(entry) REFERENCES entry (id)
);
CREATE TABLE lot (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	powder VARCHAR(80) NOT NULL, 
	body VARCHAR(32), 
	CONSTRAINT pk_lot PRIMARY KEY (id), 
	CONSTRAINT fk_lot_entry_entry FOREIGN KEY(entry) REFERENCES entry (id), 
	CONSTRAINT fk_lot_body_body FOREIGN KEY(body) REFERENCES body (digest)
);
INSERT INTO "lot" VALUES(1,1,'L-1','steel','d15f25ab9d1f5a2199d492971695d552');
CREATE TABLE person (
	id INTEGER NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	role VARCHAR(12) NOT NULL, 
	secret TEXT NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	replaces INTEGER, 
	CONSTRAINT pk_person PRIMARY KEY (id), 
	CONSTRAINT fk_person_replaces_person FOREIGN KEY(replaces) REFERENCES person (id)
);
CREATE TABLE piece (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	box VARCHAR(80) NOT NULL, 
	label VARCHAR(80) NOT NULL, 
	part VARCHAR(200) NOT NULL, 
	number INTEGER NOT NULL, 
	coupon BOOLEAN NOT NULL, 
	x_mm FLOAT, 
	y_mm FLOAT, 
	z_mm FLOAT, 
	CONSTRAINT pk_piece PRIMARY KEY (id), 
	CONSTRAINT fk_piece_entry_entry FOREIGN KEY(entry) REFERENCES entry (id)
);
INSERT INTO "piece" VALUES(1,2,'B1','bar 1','bar',1,0,NULL,NULL,NULL);
CREATE TABLE posting (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	place VARCHAR(10) NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	mg BIGINT NOT NULL, 
	CONSTRAINT pk_posting PRIMARY KEY (id), 
	CONSTRAINT fk_posting_entry_entry FOREIGN KEY(entry) REFERENCES entry (id)
);
INSERT INTO "posting" VALUES(1,1,'outside','',-20000000);
INSERT INTO "posting" VALUES(2,1,'lot','L-1',20000000);
CREATE TABLE reading (
	id INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	state VARCHAR(10) NOT NULL, 
	value FLOAT NOT NULL, 
	u FLOAT NOT NULL, 
	u_shared FLOAT NOT NULL, 
	instrument VARCHAR(80) NOT NULL, 
	unit VARCHAR(20) NOT NULL, 
	axis VARCHAR(1) NOT NULL, 
	feature VARCHAR(80) NOT NULL, 
	nominal FLOAT, 
	box VARCHAR(80) NOT NULL, 
	piece VARCHAR(80) NOT NULL, 
	part VARCHAR(200) NOT NULL, 
	lot VARCHAR(80) NOT NULL, 
	load VARCHAR(80) NOT NULL, 
	tray VARCHAR(80) NOT NULL, 
	place VARCHAR(80) NOT NULL, 
	x_mm FLOAT, 
	y_mm FLOAT, 
	z_mm FLOAT, 
	taken VARCHAR(40) NOT NULL, 
	person VARCHAR(80) NOT NULL, 
	corrects INTEGER, 
	CONSTRAINT pk_reading PRIMARY KEY (id), 
	CONSTRAINT fk_reading_entry_entry FOREIGN KEY(entry) REFERENCES entry (id), 
	CONSTRAINT fk_reading_corrects_reading FOREIGN KEY(corrects) REFERENCES reading (id)
);
INSERT INTO "reading" VALUES(1,3,'length','sintered',0.02,1.0e-05,0.0,'','','x','',0.02,'B1','bar 1','','','','','',NULL,NULL,NULL,'','',NULL);
CREATE TABLE session (
	digest VARCHAR(64) NOT NULL, 
	person INTEGER NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	ends VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_session PRIMARY KEY (digest), 
	CONSTRAINT fk_session_person_person FOREIGN KEY(person) REFERENCES person (id)
);
CREATE TABLE use (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	"key" VARCHAR(32) NOT NULL, 
	remembered BOOLEAN NOT NULL, 
	CONSTRAINT pk_use PRIMARY KEY (id), 
	CONSTRAINT fk_use_job_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_use_key_work FOREIGN KEY("key") REFERENCES work ("key")
);
CREATE TABLE version (
	id INTEGER NOT NULL, 
	thread INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	parent INTEGER, 
	name VARCHAR(200) NOT NULL, 
	folder TEXT NOT NULL, 
	changes TEXT DEFAULT '[]' NOT NULL, 
	person VARCHAR(80) NOT NULL, 
	made VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_version PRIMARY KEY (id), 
	CONSTRAINT fk_version_parent_version FOREIGN KEY(parent) REFERENCES version (id)
);
CREATE TABLE work (
	"key" VARCHAR(32) NOT NULL, 
	verb VARCHAR(120) NOT NULL, 
	edition VARCHAR(20) NOT NULL, 
	inputs TEXT NOT NULL, 
	output VARCHAR(32) NOT NULL, 
	began VARCHAR(40) NOT NULL, 
	seconds FLOAT NOT NULL, 
	CONSTRAINT pk_work PRIMARY KEY ("key"), 
	CONSTRAINT fk_work_output_body FOREIGN KEY(output) REFERENCES body (digest)
);
CREATE INDEX ix_job_order_digest ON job (order_digest);
CREATE INDEX ix_use_job ON use (job);
CREATE INDEX ix_factors_material ON factors (material);
CREATE INDEX ix_entry_what ON entry (what);
CREATE INDEX ix_entry_corrects ON entry (corrects);
CREATE INDEX ix_lot_name ON lot (name);
CREATE INDEX ix_lot_entry ON lot (entry);
CREATE INDEX ix_posting_entry ON posting (entry);
CREATE INDEX ix_posting_name ON posting (name);
CREATE INDEX ix_build_name ON build (name);
CREATE INDEX ix_build_entry ON build (entry);
CREATE INDEX ix_piece_box ON piece (box);
CREATE INDEX ix_piece_entry ON piece (entry);
CREATE INDEX ix_piece_label ON piece (label);
CREATE INDEX ix_load_name ON load (name);
CREATE INDEX ix_load_entry ON load (entry);
CREATE INDEX ix_fired_box ON fired (box);
CREATE INDEX ix_fired_load ON fired (load);
CREATE INDEX ix_fired_entry ON fired (entry);
CREATE INDEX ix_instrument_entry ON instrument (entry);
CREATE INDEX ix_instrument_name ON instrument (name);
CREATE INDEX ix_reading_corrects ON reading (corrects);
CREATE INDEX ix_reading_kind ON reading (kind);
CREATE INDEX ix_reading_entry ON reading (entry);
CREATE INDEX ix_reading_box_piece ON reading (box, piece);
CREATE INDEX ix_version_thread ON version (thread);
CREATE INDEX ix_approval_job ON approval (job);
CREATE INDEX ix_person_name ON person (name);
CREATE INDEX ix_learned_entry ON learned (entry);
CREATE INDEX ix_learned_kind ON learned (kind);
COMMIT;
