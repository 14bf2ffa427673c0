-- A ledger as the first edition left it, with one job.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE body (
	digest VARCHAR(32) NOT NULL, 
	json TEXT NOT NULL, 
	CONSTRAINT pk_body PRIMARY KEY (digest)
);
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
	plan_digest VARCHAR(32), 
	CONSTRAINT pk_job PRIMARY KEY (id), 
	CONSTRAINT fk_job_plan_digest_body FOREIGN KEY(plan_digest) REFERENCES body (digest)
);
INSERT INTO "job" VALUES(1,'metal','00000000000000000000000000000000','/demo/metal','running',5892,'1311490','2026-11-25T03:48:19+00:00','','0.1.0','2030-01-07T08:00','',NULL);
CREATE TABLE use (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	"key" VARCHAR(32) NOT NULL, 
	remembered BOOLEAN NOT NULL, 
	CONSTRAINT pk_use PRIMARY KEY (id), 
	CONSTRAINT fk_use_job_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_use_key_work FOREIGN KEY("key") REFERENCES work ("key")
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
COMMIT;
