BEGIN TRANSACTION;
CREATE TABLE attribute (
        attribute_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        key TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        definition TEXT NOT NULL,
        low_hz REAL,
        high_hz REAL,
        manoeuvre TEXT);
INSERT INTO "attribute" VALUES(1,1,'boom','Boom','pressure on the ears',20.0,100.0,NULL);
INSERT INTO "attribute" VALUES(2,2,'rumble','Rumble','coarse-road roar',100.0,400.0,NULL);
CREATE TABLE brought_score (
        brought_score_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        condition_id INTEGER NOT NULL REFERENCES condition,
        attribute_id INTEGER NOT NULL REFERENCES attribute,
        repeat INTEGER NOT NULL,
        value REAL NOT NULL,
        origin TEXT NOT NULL CHECK (origin IN ('listened', 'driven')),
        given_at TEXT,
        file_name TEXT NOT NULL,
        file_hash TEXT NOT NULL,
        brought_at TEXT NOT NULL);
INSERT INTO "brought_score" VALUES(1,3,1,1,1,1,7.0,'driven',NULL,'driven.csv','035eab1eb53373c778578914057ab97dedb73a5a81a248d9cc1b8c1d24adeb5d','2031-07-31T09:00:01+00:00');
CREATE TABLE clip (
        clip_id INTEGER PRIMARY KEY,
        condition_id INTEGER NOT NULL REFERENCES condition,
        code TEXT NOT NULL UNIQUE,
        content_hash TEXT NOT NULL,
        sample_rate_hz INTEGER NOT NULL,
        frames INTEGER NOT NULL,
        pa_per_full_scale REAL,
        peak_full_scale REAL NOT NULL,
        leq_a_db_re_full_scale REAL NOT NULL,
        fast_max_a_db_re_full_scale REAL NOT NULL);
INSERT INTO "clip" VALUES(1,2,'962192','79df87bb6f517b4ab3202e624b6c588304efa1d5d09855a08f50e2310571ee6c',8000,20000,20.0,0.214630126953125,-25.6788320755167,-2.53694003455903782651e+01);
INSERT INTO "clip" VALUES(2,2,'781553','748063922cce6d29d4aa93aa3fea02de84b37e3d9b6c6e21e5d2b7ec0e1d7d25',8000,20000,20.0,0.216888427734375,-2.57238026011717124674e+01,-2.53867095990732813967e+01);
INSERT INTO "clip" VALUES(3,1,'250435','cdc4ccaf04feafe8a1f7b29bbf932bf4100a0bce9ea9e798fbb3a364c055067f',8000,20000,20.0,0.21417236328125,-2.5735620128652804794e+01,-2.52325566866825070624e+01);
INSERT INTO "clip" VALUES(4,1,'947880','ecd6e38b71bc894f351012d296b2836ead59559bc170d0e5663986bfeaedfa7c',8000,20000,20.0,0.243743896484375,-2.567781275474306213e+01,-2.53416545478060655231e+01);
CREATE TABLE clip_source (
        clip_id INTEGER PRIMARY KEY REFERENCES clip,
        recording_id INTEGER NOT NULL REFERENCES recording,
        left_channel INTEGER NOT NULL,
        right_channel INTEGER NOT NULL,
        start_s REAL NOT NULL,
        stop_s REAL NOT NULL,
        gain_db REAL NOT NULL,
        equaliser TEXT,
        remarks TEXT NOT NULL);
INSERT INTO "clip_source" VALUES(1,2,0,1,0.0,2.5,0.0,NULL,'');
INSERT INTO "clip_source" VALUES(2,4,0,1,0.0,2.5,0.0,NULL,'');
INSERT INTO "clip_source" VALUES(3,3,0,1,0.0,2.5,0.0,NULL,'');
INSERT INTO "clip_source" VALUES(4,1,0,1,0.0,2.5,0.0,NULL,'');
CREATE TABLE condition (
        condition_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        surface TEXT NOT NULL,
        manoeuvre TEXT NOT NULL CHECK (manoeuvre IN ('steady', 'coast-down')),
        speed_km_h REAL,
        end_speed_km_h REAL);
INSERT INTO "condition" VALUES(1,1,'coarse asphalt','steady',80.0,NULL);
INSERT INTO "condition" VALUES(2,2,'smooth asphalt','coast-down',80.0,40.0);
CREATE TABLE evaluator (
        evaluator_id INTEGER PRIMARY KEY,
        code TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL);
INSERT INTO "evaluator" VALUES(1,'E1','Ada');
INSERT INTO "evaluator" VALUES(2,'E2','Bo');
INSERT INTO "evaluator" VALUES(3,'Z1','');
CREATE TABLE migration (number INTEGER PRIMARY KEY, applied_at TEXT);
INSERT INTO "migration" VALUES(1,'2026-11-25T12:33:09.787635+00:00');
CREATE TABLE note (
        note_id INTEGER PRIMARY KEY,
        pair_id INTEGER NOT NULL REFERENCES pair,
        side TEXT NOT NULL CHECK (side IN ('A', 'B')),
        text TEXT NOT NULL,
        given_at TEXT NOT NULL);
INSERT INTO "note" VALUES(1,3,'A','a whistle','2031-07-31T09:00:13+00:00');
CREATE TABLE pair (
        pair_id INTEGER PRIMARY KEY,
        session_id INTEGER NOT NULL REFERENCES session,
        position INTEGER NOT NULL,
        condition_id INTEGER NOT NULL REFERENCES condition,
        clip_a INTEGER NOT NULL REFERENCES clip,
        clip_b INTEGER NOT NULL REFERENCES clip,
        UNIQUE (session_id, position));
INSERT INTO "pair" VALUES(1,1,1,1,3,4);
INSERT INTO "pair" VALUES(2,1,2,2,1,2);
INSERT INTO "pair" VALUES(3,1,3,2,1,1);
INSERT INTO "pair" VALUES(4,1,4,1,4,3);
INSERT INTO "pair" VALUES(5,2,1,1,4,3);
INSERT INTO "pair" VALUES(6,2,2,2,2,1);
INSERT INTO "pair" VALUES(7,2,3,1,4,4);
INSERT INTO "pair" VALUES(8,2,4,1,3,4);
CREATE TABLE pair_event (
        pair_event_id INTEGER PRIMARY KEY,
        pair_id INTEGER NOT NULL REFERENCES pair,
        kind TEXT NOT NULL CHECK (kind IN ('opened', 'heard A', 'heard B', 'locked', 'rested')),
        happened_at TEXT NOT NULL);
INSERT INTO "pair_event" VALUES(1,1,'opened','2031-07-31T09:00:01+00:00');
INSERT INTO "pair_event" VALUES(2,1,'heard A','2031-07-31T09:00:02+00:00');
INSERT INTO "pair_event" VALUES(3,1,'heard B','2031-07-31T09:00:03+00:00');
INSERT INTO "pair_event" VALUES(4,1,'locked','2031-07-31T09:00:06+00:00');
INSERT INTO "pair_event" VALUES(5,2,'opened','2031-07-31T09:00:07+00:00');
INSERT INTO "pair_event" VALUES(6,2,'heard A','2031-07-31T09:00:08+00:00');
INSERT INTO "pair_event" VALUES(7,2,'heard B','2031-07-31T09:00:09+00:00');
INSERT INTO "pair_event" VALUES(8,2,'locked','2031-07-31T09:00:12+00:00');
CREATE TABLE pair_role (
        pair_id INTEGER PRIMARY KEY REFERENCES pair,
        role TEXT NOT NULL CHECK (role IN ('candidate', 'null', 'repeat')));
INSERT INTO "pair_role" VALUES(1,'candidate');
INSERT INTO "pair_role" VALUES(2,'candidate');
INSERT INTO "pair_role" VALUES(3,'null');
INSERT INTO "pair_role" VALUES(4,'repeat');
INSERT INTO "pair_role" VALUES(5,'candidate');
INSERT INTO "pair_role" VALUES(6,'candidate');
INSERT INTO "pair_role" VALUES(7,'null');
INSERT INTO "pair_role" VALUES(8,'repeat');
CREATE TABLE recording (
        recording_id INTEGER PRIMARY KEY,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        condition_id INTEGER NOT NULL REFERENCES condition,
        stored_name TEXT NOT NULL,
        original_name TEXT NOT NULL,
        content_hash TEXT NOT NULL,
        sample_rate_hz INTEGER NOT NULL,
        channels INTEGER NOT NULL,
        frames INTEGER NOT NULL,
        pa_per_full_scale REAL,
        imported_at TEXT NOT NULL);
INSERT INTO "recording" VALUES(1,1,1,'0343b6e91b4e505ed128.wav','Maple_1.wav','0343b6e91b4e505ed12805609f1d86424ce263626f4862cda2a8fce60c96bb2a',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00');
INSERT INTO "recording" VALUES(2,1,2,'693eef29fab6cb372eff.wav','Maple_2.wav','693eef29fab6cb372eff41358e74b8043277293c165ce996cc8e097de799307a',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00');
INSERT INTO "recording" VALUES(3,2,1,'b3f1e6797371b5678c3a.wav','Birch_1.wav','b3f1e6797371b5678c3a83b0615729c6d64ed8a1c4e4574fa4102ad36ef22192',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00');
INSERT INTO "recording" VALUES(4,2,2,'18661dd63aa51b54c9bc.wav','Birch_2.wav','18661dd63aa51b54c9bc5ee9c17c3ce4183699d405775175ebbd61bc4bb60127',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00');
CREATE TABLE score (
        score_id INTEGER PRIMARY KEY,
        pair_id INTEGER NOT NULL REFERENCES pair,
        side TEXT NOT NULL CHECK (side IN ('A', 'B')),
        attribute_id INTEGER NOT NULL REFERENCES attribute,
        value REAL,
        said_equal INTEGER NOT NULL,
        given_at TEXT NOT NULL);
INSERT INTO "score" VALUES(1,1,'A',1,7.0,0,'2031-07-31T09:00:04+00:00');
INSERT INTO "score" VALUES(2,1,'B',1,6.0,0,'2031-07-31T09:00:04+00:00');
INSERT INTO "score" VALUES(3,1,'A',2,7.0,0,'2031-07-31T09:00:05+00:00');
INSERT INTO "score" VALUES(4,1,'B',2,6.0,0,'2031-07-31T09:00:05+00:00');
INSERT INTO "score" VALUES(5,2,'A',1,7.0,0,'2031-07-31T09:00:10+00:00');
INSERT INTO "score" VALUES(6,2,'B',1,6.0,0,'2031-07-31T09:00:10+00:00');
INSERT INTO "score" VALUES(7,2,'A',2,7.0,0,'2031-07-31T09:00:11+00:00');
INSERT INTO "score" VALUES(8,2,'B',2,6.0,0,'2031-07-31T09:00:11+00:00');
CREATE TABLE session (
        session_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        ordinal INTEGER NOT NULL UNIQUE,
        seed INTEGER NOT NULL,
        design_version INTEGER NOT NULL,
        created_at TEXT NOT NULL);
INSERT INTO "session" VALUES(1,1,0,7,1,'2031-07-31T09:00:02+00:00');
INSERT INTO "session" VALUES(2,2,1,7,1,'2031-07-31T09:00:03+00:00');
CREATE TABLE study (
        name TEXT NOT NULL,
        vehicle TEXT NOT NULL,
        note TEXT NOT NULL,
        is_invented INTEGER NOT NULL,
        scale_low REAL NOT NULL,
        scale_high REAL NOT NULL,
        scale_step REAL NOT NULL,
        anchors_version INTEGER NOT NULL,
        seed INTEGER NOT NULL,
        created_at TEXT NOT NULL);
INSERT INTO "study" VALUES('Alder wagon, week 31','Alder wagon','',0,1.0,10.0,0.25,1,7,'2031-07-31T09:00:01+00:00');
CREATE TABLE tyre_set (
        set_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        name TEXT NOT NULL UNIQUE,
        size TEXT NOT NULL,
        note TEXT NOT NULL,
        is_control INTEGER NOT NULL,
        code TEXT NOT NULL UNIQUE);
INSERT INTO "tyre_set" VALUES(1,1,'Maple','','',1,'538');
INSERT INTO "tyre_set" VALUES(2,2,'Birch','','',0,'725');
CREATE INDEX score_by_pair ON score (pair_id, attribute_id, side);
CREATE INDEX pair_event_by_pair ON pair_event (pair_id);
CREATE TRIGGER score_refuses_update BEFORE UPDATE ON score BEGIN SELECT RAISE(ABORT, 'score is append-only'); END;
CREATE TRIGGER score_refuses_delete BEFORE DELETE ON score BEGIN SELECT RAISE(ABORT, 'score is append-only'); END;
CREATE TRIGGER note_refuses_update BEFORE UPDATE ON note BEGIN SELECT RAISE(ABORT, 'note is append-only'); END;
CREATE TRIGGER note_refuses_delete BEFORE DELETE ON note BEGIN SELECT RAISE(ABORT, 'note is append-only'); END;
CREATE TRIGGER pair_event_refuses_update BEFORE UPDATE ON pair_event BEGIN SELECT RAISE(ABORT, 'pair_event is append-only'); END;
CREATE TRIGGER pair_event_refuses_delete BEFORE DELETE ON pair_event BEGIN SELECT RAISE(ABORT, 'pair_event is append-only'); END;
CREATE TRIGGER brought_score_refuses_update BEFORE UPDATE ON brought_score BEGIN SELECT RAISE(ABORT, 'brought_score is append-only'); END;
CREATE TRIGGER brought_score_refuses_delete BEFORE DELETE ON brought_score BEGIN SELECT RAISE(ABORT, 'brought_score is append-only'); END;
CREATE TRIGGER pair_refuses_update BEFORE UPDATE ON pair BEGIN SELECT RAISE(ABORT, 'pair is append-only'); END;
CREATE TRIGGER pair_refuses_delete BEFORE DELETE ON pair BEGIN SELECT RAISE(ABORT, 'pair is append-only'); END;
CREATE TRIGGER pair_role_refuses_update BEFORE UPDATE ON pair_role BEGIN SELECT RAISE(ABORT, 'pair_role is append-only'); END;
CREATE TRIGGER pair_role_refuses_delete BEFORE DELETE ON pair_role BEGIN SELECT RAISE(ABORT, 'pair_role is append-only'); END;
CREATE TRIGGER session_refuses_update BEFORE UPDATE ON session BEGIN SELECT RAISE(ABORT, 'session is append-only'); END;
CREATE TRIGGER session_refuses_delete BEFORE DELETE ON session BEGIN SELECT RAISE(ABORT, 'session is append-only'); END;
COMMIT;
