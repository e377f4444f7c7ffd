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
CREATE TABLE band (
        version INTEGER NOT NULL REFERENCES band_table,
        position INTEGER NOT NULL,
        key TEXT NOT NULL,
        name TEXT NOT NULL,
        low_hz DOUBLE PRECISION NOT NULL,
        high_hz DOUBLE PRECISION NOT NULL,
        PRIMARY KEY (version, position),
        UNIQUE (version, key));
INSERT INTO "band" VALUES(1,1,'boom','Boom',20.0,100.0);
INSERT INTO "band" VALUES(1,2,'structure_borne','Structure-borne',100.0,400.0);
INSERT INTO "band" VALUES(1,3,'cavity','Cavity',100.0,300.0);
INSERT INTO "band" VALUES(1,4,'airborne','Airborne',400.0,4000.0);
INSERT INTO "band" VALUES(1,5,'pattern','Pattern',400.0,1200.0);
CREATE TABLE band_table (
        version INTEGER PRIMARY KEY,
        made_at TEXT);
INSERT INTO "band_table" VALUES(1,NULL);
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
INSERT INTO "brought_score" VALUES(1,3,2,1,1,1,7.0,'driven',NULL,'driven.csv','ee077abc029ee5c682c07449d7a70fc0848f00df6b7937f5d243dc3abeac29cd','2031-07-31T09:00:01+00:00');
CREATE TABLE channel_setting (
        channel_setting_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        channel INTEGER NOT NULL CHECK (channel >= 1),
        role TEXT NOT NULL,
        pa_per_full_scale DOUBLE PRECISION CHECK (pa_per_full_scale > 0),
        calibration TEXT NOT NULL,
        set_at TEXT NOT NULL);
INSERT INTO "channel_setting" VALUES(1,5,1,'driver left ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(2,5,2,'driver right ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(3,4,1,'driver left ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(4,4,2,'driver right ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(5,6,1,'driver left ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(6,6,2,'driver right ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(7,2,1,'driver left ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(8,2,2,'driver right ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(9,3,1,'driver left ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(10,3,2,'driver right ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(11,1,1,'driver left ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
INSERT INTO "channel_setting" VALUES(12,1,2,'driver right ear',20.0,'20 Pa per full scale, given','2031-07-31T09:00:01+00:00');
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
INSERT INTO "clip" VALUES(1,1,'563731','eabcbcf789dfcce87b44be81bfb692497c1eb5509340cc60c32399c8d66c9395',8000,20000,20.0,0.25341796875,-2.55924417517677227351e+01,-2.53021883425360698542e+01);
INSERT INTO "clip" VALUES(2,2,'421845','748063922cce6d29d4aa93aa3fea02de84b37e3d9b6c6e21e5d2b7ec0e1d7d25',8000,20000,20.0,0.216888427734375,-2.57238026011717124674e+01,-2.53867095990732813967e+01);
INSERT INTO "clip" VALUES(3,2,'372832','74524c82b7f9a16bc9ed58122115145530e50534ec9c32f9089f3bca728b2762',8000,20000,20.0,0.20648193359375,-2.56385203453606713708e+01,-2.5410022071246277874e+01);
INSERT INTO "clip" VALUES(4,2,'172475','79df87bb6f517b4ab3202e624b6c588304efa1d5d09855a08f50e2310571ee6c',8000,20000,20.0,0.214630126953125,-25.6788320755167,-2.53694003455903782651e+01);
INSERT INTO "clip" VALUES(5,1,'445915','cdc4ccaf04feafe8a1f7b29bbf932bf4100a0bce9ea9e798fbb3a364c055067f',8000,20000,20.0,0.21417236328125,-2.5735620128652804794e+01,-2.52325566866825070624e+01);
INSERT INTO "clip" VALUES(6,1,'872196','ecd6e38b71bc894f351012d296b2836ead59559bc170d0e5663986bfeaedfa7c',8000,20000,20.0,0.243743896484375,-2.567781275474306213e+01,-2.53416545478060655231e+01);
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
INSERT INTO "clip_source" VALUES(1,5,0,1,0.0,2.5,0.0,NULL,'whole window: too short for a loop of 5 s');
INSERT INTO "clip_source" VALUES(2,4,0,1,0.0,2.5,0.0,NULL,'whole window: too short for a loop of 5 s');
INSERT INTO "clip_source" VALUES(3,6,0,1,0.0,2.5,0.0,NULL,'whole window: too short for a loop of 5 s');
INSERT INTO "clip_source" VALUES(4,2,0,1,0.0,2.5,0.0,NULL,'whole window: too short for a loop of 5 s');
INSERT INTO "clip_source" VALUES(5,3,0,1,0.0,2.5,0.0,NULL,'whole window: too short for a loop of 5 s');
INSERT INTO "clip_source" VALUES(6,1,0,1,0.0,2.5,0.0,NULL,'whole window: too short for a loop of 5 s');
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
INSERT INTO "evaluator" VALUES(3,'X1','');
CREATE TABLE exposure (
        exposure_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        clip_id INTEGER REFERENCES clip,
        began_at TEXT NOT NULL,
        seconds DOUBLE PRECISION NOT NULL CHECK (seconds >= 0),
        level_db_a DOUBLE PRECISION);
INSERT INTO "exposure" VALUES(1,1,6,'2031-07-31T09:00:01.500000+00:00',12.5,61.0);
CREATE TABLE figure (
        measuring_id INTEGER NOT NULL REFERENCES measuring,
        position INTEGER NOT NULL,
        channel TEXT NOT NULL,
        key TEXT NOT NULL,
        unit TEXT NOT NULL,
        value DOUBLE PRECISION,
        PRIMARY KEY (measuring_id, position),
        UNIQUE (measuring_id, channel, key));
INSERT INTO "figure" VALUES(1,1,'left ear','leq_a','dB',61.5);
CREATE TABLE measuring (
        measuring_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        band_version INTEGER NOT NULL REFERENCES band_table,
        program_version TEXT NOT NULL,
        settings TEXT NOT NULL,
        arrays_name TEXT,
        measured_at TEXT NOT NULL);
INSERT INTO "measuring" VALUES(1,1,1,'0.1.0','{}',NULL,'2031-07-31T09:00:03+00:00');
CREATE TABLE migration (number INTEGER PRIMARY KEY, applied_at TEXT);
INSERT INTO "migration" VALUES(1,'2026-11-27T04:18:40.497255+00:00');
INSERT INTO "migration" VALUES(2,'2026-11-27T04:18:40.580699+00:00');
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
INSERT INTO "pair" VALUES(1,1,1,1,6,5);
INSERT INTO "pair" VALUES(2,1,2,2,2,4);
INSERT INTO "pair" VALUES(3,1,3,1,6,6);
INSERT INTO "pair" VALUES(4,1,4,1,1,6);
INSERT INTO "pair" VALUES(5,1,5,1,5,6);
INSERT INTO "pair" VALUES(6,1,6,2,4,3);
INSERT INTO "pair" VALUES(7,2,1,1,6,1);
INSERT INTO "pair" VALUES(8,2,2,2,4,2);
INSERT INTO "pair" VALUES(9,2,3,2,3,4);
INSERT INTO "pair" VALUES(10,2,4,1,6,6);
INSERT INTO "pair" VALUES(11,2,5,1,5,6);
INSERT INTO "pair" VALUES(12,2,6,2,4,3);
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
INSERT INTO "pair_role" VALUES(4,'candidate');
INSERT INTO "pair_role" VALUES(5,'repeat');
INSERT INTO "pair_role" VALUES(6,'candidate');
INSERT INTO "pair_role" VALUES(7,'candidate');
INSERT INTO "pair_role" VALUES(8,'candidate');
INSERT INTO "pair_role" VALUES(9,'candidate');
INSERT INTO "pair_role" VALUES(10,'null');
INSERT INTO "pair_role" VALUES(11,'candidate');
INSERT INTO "pair_role" VALUES(12,'repeat');
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
        imported_at TEXT NOT NULL, run INTEGER NOT NULL DEFAULT 1);
INSERT INTO "recording" VALUES(1,1,1,'0343b6e91b4e505ed128.wav','Maple_1.wav','0343b6e91b4e505ed12805609f1d86424ce263626f4862cda2a8fce60c96bb2a',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00',1);
INSERT INTO "recording" VALUES(2,1,2,'693eef29fab6cb372eff.wav','Maple_2.wav','693eef29fab6cb372eff41358e74b8043277293c165ce996cc8e097de799307a',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00',1);
INSERT INTO "recording" VALUES(3,2,1,'b3f1e6797371b5678c3a.wav','Birch_1.wav','b3f1e6797371b5678c3a83b0615729c6d64ed8a1c4e4574fa4102ad36ef22192',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00',1);
INSERT INTO "recording" VALUES(4,2,2,'18661dd63aa51b54c9bc.wav','Birch_2.wav','18661dd63aa51b54c9bc5ee9c17c3ce4183699d405775175ebbd61bc4bb60127',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00',1);
INSERT INTO "recording" VALUES(5,3,1,'c9bbaaf2c41d97ec4d31.wav','Larch_1.wav','c9bbaaf2c41d97ec4d318a11cbec886807ac98d09b568d1e686c4ef1911e0ebc',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00',1);
INSERT INTO "recording" VALUES(6,3,2,'b830a7a78092d8f42536.wav','Larch_2.wav','b830a7a78092d8f4253692bb81a128a9c3655dcb06ab943d5f0aa2f1b449d9a1',8000,2,20000,20.0,'2031-07-31T09:00:01+00:00',1);
CREATE TABLE remark (
        remark_id INTEGER PRIMARY KEY,
        measuring_id INTEGER NOT NULL REFERENCES measuring,
        severity TEXT NOT NULL CHECK (severity IN ('void', 'doubtful', 'note')),
        channel INTEGER,
        sentence TEXT NOT NULL);
INSERT INTO "remark" VALUES(1,1,'note',NULL,'Short.');
CREATE TABLE run_note (
        run_note_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        air_c DOUBLE PRECISION,
        surface_c DOUBLE PRECISION,
        tyre_air_c DOUBLE PRECISION,
        wind_m_s DOUBLE PRECISION,
        pressure_front_kpa DOUBLE PRECISION,
        pressure_rear_kpa DOUBLE PRECISION,
        load_front_kg DOUBLE PRECISION,
        load_rear_kg DOUBLE PRECISION,
        remark TEXT NOT NULL,
        noted_at TEXT NOT NULL);
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
INSERT INTO "score" VALUES(5,2,'A',1,6.5,0,'2031-07-31T09:00:10+00:00');
INSERT INTO "score" VALUES(6,2,'B',1,6.0,0,'2031-07-31T09:00:10+00:00');
INSERT INTO "score" VALUES(7,2,'A',2,6.5,0,'2031-07-31T09:00:11+00:00');
INSERT INTO "score" VALUES(8,2,'B',2,6.0,0,'2031-07-31T09:00:11+00:00');
CREATE TABLE session (
        session_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        ordinal INTEGER NOT NULL UNIQUE,
        seed INTEGER NOT NULL,
        design_version INTEGER NOT NULL,
        created_at TEXT NOT NULL);
INSERT INTO "session" VALUES(1,1,0,1203577261,1,'2031-07-31T09:00:02+00:00');
INSERT INTO "session" VALUES(2,2,1,1203577261,1,'2031-07-31T09:00:03+00:00');
CREATE TABLE speed_source (
        speed_source_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        kind TEXT NOT NULL CHECK (kind IN ('file', 'channel', 'pulses', 'constant', 'none')),
        stored_name TEXT,
        original_name TEXT,
        content_hash TEXT,
        channel INTEGER,
        km_h_per_unit DOUBLE PRECISION,
        km_h_at_zero DOUBLE PRECISION,
        pulses_per_metre DOUBLE PRECISION,
        speed_km_h DOUBLE PRECISION,
        offset_s DOUBLE PRECISION NOT NULL,
        set_at TEXT NOT NULL);
INSERT INTO "speed_source" VALUES(1,1,'constant',NULL,NULL,NULL,NULL,NULL,NULL,NULL,80.0,0.0,'2031-07-31T09:00:01+00:00');
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
INSERT INTO "study" VALUES('Alder wagon, week 31','Alder wagon','',0,1.0,10.0,0.25,1,1203577261,'2031-07-31T09:00:01+00:00');
CREATE TABLE tread (
        tread_id INTEGER PRIMARY KEY,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        size TEXT NOT NULL,
        pitches INTEGER CHECK (pitches >= 1),
        set_at TEXT NOT NULL);
INSERT INTO "tread" VALUES(1,2,'205/55R16',64,'2031-07-31T09:00:02+00:00');
CREATE TABLE tyre_set (
        set_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        name TEXT NOT NULL UNIQUE,
        size TEXT NOT NULL,
        note TEXT NOT NULL,
        is_control INTEGER NOT NULL,
        code TEXT NOT NULL UNIQUE);
INSERT INTO "tyre_set" VALUES(1,1,'Maple','','',1,'584');
INSERT INTO "tyre_set" VALUES(2,2,'Birch','','',0,'349');
INSERT INTO "tyre_set" VALUES(3,3,'Larch','','',0,'289');
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
CREATE UNIQUE INDEX recording_by_run ON recording (set_id, condition_id, run);
CREATE INDEX channel_setting_by_recording ON channel_setting (recording_id, channel);
CREATE INDEX measuring_by_recording ON measuring (recording_id);
CREATE INDEX remark_by_measuring ON remark (measuring_id);
CREATE INDEX exposure_by_evaluator ON exposure (evaluator_id, began_at);
CREATE TRIGGER recording_refuses_update BEFORE UPDATE ON recording BEGIN SELECT RAISE(ABORT, 'recording is append-only'); END;
CREATE TRIGGER recording_refuses_delete BEFORE DELETE ON recording BEGIN SELECT RAISE(ABORT, 'recording is append-only'); END;
CREATE TRIGGER channel_setting_refuses_update BEFORE UPDATE ON channel_setting BEGIN SELECT RAISE(ABORT, 'channel_setting is append-only'); END;
CREATE TRIGGER channel_setting_refuses_delete BEFORE DELETE ON channel_setting BEGIN SELECT RAISE(ABORT, 'channel_setting is append-only'); END;
CREATE TRIGGER tread_refuses_update BEFORE UPDATE ON tread BEGIN SELECT RAISE(ABORT, 'tread is append-only'); END;
CREATE TRIGGER tread_refuses_delete BEFORE DELETE ON tread BEGIN SELECT RAISE(ABORT, 'tread is append-only'); END;
CREATE TRIGGER run_note_refuses_update BEFORE UPDATE ON run_note BEGIN SELECT RAISE(ABORT, 'run_note is append-only'); END;
CREATE TRIGGER run_note_refuses_delete BEFORE DELETE ON run_note BEGIN SELECT RAISE(ABORT, 'run_note is append-only'); END;
CREATE TRIGGER speed_source_refuses_update BEFORE UPDATE ON speed_source BEGIN SELECT RAISE(ABORT, 'speed_source is append-only'); END;
CREATE TRIGGER speed_source_refuses_delete BEFORE DELETE ON speed_source BEGIN SELECT RAISE(ABORT, 'speed_source is append-only'); END;
CREATE TRIGGER band_table_refuses_update BEFORE UPDATE ON band_table BEGIN SELECT RAISE(ABORT, 'band_table is append-only'); END;
CREATE TRIGGER band_table_refuses_delete BEFORE DELETE ON band_table BEGIN SELECT RAISE(ABORT, 'band_table is append-only'); END;
CREATE TRIGGER band_refuses_update BEFORE UPDATE ON band BEGIN SELECT RAISE(ABORT, 'band is append-only'); END;
CREATE TRIGGER band_refuses_delete BEFORE DELETE ON band BEGIN SELECT RAISE(ABORT, 'band is append-only'); END;
CREATE TRIGGER measuring_refuses_update BEFORE UPDATE ON measuring BEGIN SELECT RAISE(ABORT, 'measuring is append-only'); END;
CREATE TRIGGER measuring_refuses_delete BEFORE DELETE ON measuring BEGIN SELECT RAISE(ABORT, 'measuring is append-only'); END;
CREATE TRIGGER figure_refuses_update BEFORE UPDATE ON figure BEGIN SELECT RAISE(ABORT, 'figure is append-only'); END;
CREATE TRIGGER figure_refuses_delete BEFORE DELETE ON figure BEGIN SELECT RAISE(ABORT, 'figure is append-only'); END;
CREATE TRIGGER remark_refuses_update BEFORE UPDATE ON remark BEGIN SELECT RAISE(ABORT, 'remark is append-only'); END;
CREATE TRIGGER remark_refuses_delete BEFORE DELETE ON remark BEGIN SELECT RAISE(ABORT, 'remark is append-only'); END;
CREATE TRIGGER exposure_refuses_update BEFORE UPDATE ON exposure BEGIN SELECT RAISE(ABORT, 'exposure is append-only'); END;
CREATE TRIGGER exposure_refuses_delete BEFORE DELETE ON exposure BEGIN SELECT RAISE(ABORT, 'exposure is append-only'); END;
COMMIT;
