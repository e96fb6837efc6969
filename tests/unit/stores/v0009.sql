-- A store of version 9, grown from one of version 8 by the program of that version; every part in it is invented.
PRAGMA application_id = 1886743660;
PRAGMA user_version = 9;
BEGIN TRANSACTION;
CREATE TABLE birth (
	birth VARCHAR NOT NULL, 
	part VARCHAR NOT NULL, 
	PRIMARY KEY (birth)
);
INSERT INTO "birth" VALUES('029064d92604d0a77a61f267e6f502253209457ea00810c79a88b8aea0d2a606','P0004');
INSERT INTO "birth" VALUES('20260504T093015-000001','P0001');
INSERT INTO "birth" VALUES('20260504T093015-000003','P0003');
INSERT INTO "birth" VALUES('20260504T093015-000002','P0002');
CREATE TABLE calibration (
	"key" INTEGER NOT NULL, 
	taken_at VARCHAR NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	board_kind VARCHAR NOT NULL, 
	board_serial INTEGER NOT NULL, 
	record VARCHAR NOT NULL, 
	PRIMARY KEY ("key")
);
INSERT INTO "calibration" VALUES(1,'2026-03-01T08:00:00.000000+00:00',1,'virtual',17,'{"calibration":{"name":"spring check","taken_at":"2026-03-01T08:00:00Z","board_serial":17,"coil_set":{"gain":0.00732421875,"zero":0.0,"u_gain":0.02886751345948129,"u_zero":17.8978583448784,"why":"5 V supply 5 %, gain of 6, MCP4725 zero","shares":[],"shape":"rectangular"},"coil_bus":{"gain":0.00125,"zero":0.0,"u_gain":0.0005773502691896258,"u_zero":3.464101615137755,"why":"INA226 bus: 0.1 %, 7.5 mV","shares":[],"shape":"rectangular"},"coil_shunt":{"gain":0.000025,"zero":0.0,"u_gain":0.00583123771881522,"u_zero":2.3094010767585034,"why":"0.1 ohm 1 %, INA226 0.1 %, 10 uV","shares":[],"shape":"rectangular"},"coil_fast":{"gain":0.00029773246951219517,"zero":0.0,"u_gain":0.03002221399786054,"u_zero":1.7320508075688774,"why":"0.82 ohm 1 %, INA180 1 % and 0.5 mV, 5 V 5 %","shares":[],"shape":"rectangular"},"low_side_ohm":0.87,"u_low_side_ohm":0.02886751345948129,"drop":{"gain":7.8125e-6,"zero":0.0,"u_gain":0.0018475208614068027,"u_zero":1.7320508075688774,"why":"ADS1115: 0.15 %, 3 counts; 0.16 % lost in the series resistors, not corrected (GUM F.2.4.5)","shares":[],"shape":"rectangular"},"load":{"gain":0.0015625,"zero":0.0,"u_gain":0.00583123771881522,"u_zero":1.7320508075688774,"why":"5 mohm 1 %, ADS1115 0.15 %","shares":[],"shape":"rectangular"},"tick":{"gain":5e-7,"zero":0.0,"u_gain":0.002886751345948129,"u_zero":0.5,"why":"ceramic resonator 0.5 %","shares":[],"shape":"rectangular"},"u_temperature_k":0.23133813635743966,"temperature_offset_k":0.0,"clips":{"no_ohm":0.0002,"nc_ohm":0.0002,"u_ohm":0.000057735026918962585,"shape":"rectangular"},"simulated":false},"board":{"kind":"virtual","simulated":true,"serial":17,"firmware":"0.1.0","schema_hash":12648430,"reset_cause":"power on","port":"","load_supply":true,"build":"full"},"meter":{"counts":2000,"volts_percent":0.5,"ohms_percent":0.8,"digits":3.0},"observed":{"volts":[],"shunt_zero":0.0,"resistor":null,"amps":[],"low_side":null,"contact_zero":null,"links":null,"contact_resistor":null,"contact":null,"temperature":null,"clock":null},"left_out":[],"refused":[],"software":"0.1.0","operator":"","simulated":true}');
CREATE TABLE crate (
	name VARCHAR NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	begun VARCHAR NOT NULL, 
	PRIMARY KEY (name)
);
INSERT INTO "crate" VALUES('Crate 4',1,'2026-05-04T09:30:15.250000+00:00');
CREATE TABLE crate_event (
	crate VARCHAR NOT NULL, 
	seq INTEGER NOT NULL, 
	at VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	number INTEGER NOT NULL, 
	run VARCHAR, 
	bin VARCHAR, 
	body VARCHAR NOT NULL, 
	PRIMARY KEY (crate, seq), 
	FOREIGN KEY(crate) REFERENCES crate (name), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "crate_event" VALUES('Crate 4',1,'2026-05-04T09:30:15.250000+00:00','noted',1,NULL,NULL,'{"kind":"noted","at":"2026-05-04T09:30:15.250000Z","number":1,"run":"","text":"dusty","placed":null,"like":null}');
CREATE TABLE document (
	sha256 VARCHAR NOT NULL, 
	body VARCHAR NOT NULL, 
	PRIMARY KEY (sha256)
);
INSERT INTO "document" VALUES('22438915b55276bc181e17c331e31da65fb00dc1d0da43284c6fad66f180a25d','{"protocol":"depot-changeover-12v","version":3,"title":"Changeover relay, 12 V, full","form":"C","rating":{"rating":"depot-changeover-12v","title":"invented 12 V changeover relay","source":{"text":"invented sheet of the bus depot","known":"assumed"},"form":"C","nominal":12.0,"coil_resistance":90.0,"coil_tolerance":10.0,"pull_in_most":8.4,"drop_out_least":1.2,"operate_most":0.01,"release_most":null,"drop_no":{"most":0.2,"at":10.0},"drop_nc":null,"suppression":null,"contact_no":null,"contact_nc":null,"figures":{"drop_no":{"text":"an invented house rule","known":"common practice"}},"notes":""},"steps":[{"measure":"coil","probe":1.0,"at":null},{"measure":"thresholds","full":null,"coarse":0.5,"fine":0.05,"coarse_dwell":0.02,"dwell":0.05,"walks":1},{"measure":"timing","coil":13.5,"clamp":"tvs","makes":3},{"measure":"contact","coil":13.5,"load":10.0,"makes":10,"pulse":0.012}],"wanted":["contact_rest","contact_operated","coil_resistance","coil_resistance_20c","pull_in_voltage","pull_in_voltage_20c","pull_in_current","drop_out_voltage","operate_time","release_time","bounce_time_no","bounce_time_nc","transfer_time","contact_drop_no","contact_drop_nc","contact_dry_nc","leakage_open_contact","leakage_coil_contact","coil_resistance_low","armature_start_time","armature_seat_time","contact_before_load_no","contact_loaded_no","contact_after_load_no","contact_scatter_no","contact_before_load_nc","contact_loaded_nc","contact_after_load_nc","contact_scatter_nc","coil_resistance_hot","coil_rise","pull_in_voltage_85c","release_after_load","contact_climb_no","drop_out_overdriven","flyback_peak","flyback_class"],"limits":{"pull_in_voltage":{"text":"<= 8.40 V (70 % of nominal 12 V)","source":{"text":"invented sheet of the bus depot","known":"assumed"},"unit":"V","low":null,"high":8.4,"state":null},"contact_drop_no":{"text":"<= 200 mV at 10 A","source":{"text":"an invented house rule","known":"common practice"},"unit":"V","low":null,"high":0.2,"state":null},"coil_resistance_20c":{"text":"81.0 to 99.0 ohm (90 ohm +-10 %)","source":{"text":"invented sheet of the bus depot","known":"assumed"},"unit":"ohm","low":81.0,"high":99.0,"state":null}},"unlimited":{},"sha256":"5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f"}');
INSERT INTO "document" VALUES('b50831aa81ca9d15758f70b3503bd3a6f6f17a2c8ab12dfb740048e8a20bbd57','{"name":"uncalibrated","taken_at":null,"board_serial":17,"coil_set":{"gain":0.00732421875,"zero":0.0,"u_gain":0.02886751345948129,"u_zero":17.8978583448784,"why":"5 V supply 5 %, gain of 6, MCP4725 zero","shares":[],"shape":"rectangular"},"coil_bus":{"gain":0.00125,"zero":0.0,"u_gain":0.0005773502691896258,"u_zero":3.464101615137755,"why":"INA226 bus: 0.1 %, 7.5 mV","shares":[],"shape":"rectangular"},"coil_shunt":{"gain":0.000025,"zero":0.0,"u_gain":0.00583123771881522,"u_zero":2.3094010767585034,"why":"0.1 ohm 1 %, INA226 0.1 %, 10 uV","shares":[],"shape":"rectangular"},"coil_fast":{"gain":0.00029773246951219517,"zero":0.0,"u_gain":0.03002221399786054,"u_zero":1.7320508075688774,"why":"0.82 ohm 1 %, INA180 1 % and 0.5 mV, 5 V 5 %","shares":[],"shape":"rectangular"},"low_side_ohm":0.87,"u_low_side_ohm":0.02886751345948129,"drop":{"gain":7.8125e-6,"zero":0.0,"u_gain":0.0018475208614068027,"u_zero":1.7320508075688774,"why":"ADS1115: 0.15 %, 3 counts; 0.16 % lost in the series resistors, not corrected (GUM F.2.4.5)","shares":[],"shape":"rectangular"},"load":{"gain":0.0015625,"zero":0.0,"u_gain":0.00583123771881522,"u_zero":1.7320508075688774,"why":"5 mohm 1 %, ADS1115 0.15 %","shares":[],"shape":"rectangular"},"tick":{"gain":5e-7,"zero":0.0,"u_gain":0.002886751345948129,"u_zero":0.5,"why":"ceramic resonator 0.5 %","shares":[],"shape":"rectangular"},"u_temperature_k":0.23133813635743966,"temperature_offset_k":0.0,"clips":{"no_ohm":0.0002,"nc_ohm":0.0002,"u_ohm":0.000057735026918962585,"shape":"rectangular"},"simulated":false}');
INSERT INTO "document" VALUES('5b54d972a44a14893b94fba49f7e958ba05731d63a036de568554c66f33eae79','{"text":"# an invented protocol\nprotocol: depot-changeover-12v\nversion: 3\n","plan":"{\"protocol\":\"depot-changeover-12v\",\"version\":3,\"title\":\"Changeover relay, 12 V, full\",\"form\":\"C\",\"rating\":{\"rating\":\"depot-changeover-12v\",\"title\":\"invented 12 V changeover relay\",\"source\":{\"text\":\"invented sheet of the bus depot\",\"known\":\"assumed\"},\"form\":\"C\",\"nominal\":12.0,\"coil_resistance\":90.0,\"coil_tolerance\":10.0,\"pull_in_most\":8.4,\"drop_out_least\":1.2,\"operate_most\":0.01,\"release_most\":null,\"drop_no\":{\"most\":0.2,\"at\":10.0},\"drop_nc\":null,\"suppression\":null,\"contact_no\":null,\"contact_nc\":null,\"figures\":{\"drop_no\":{\"text\":\"an invented house rule\",\"known\":\"common practice\"}},\"notes\":\"\"},\"steps\":[{\"measure\":\"coil\",\"probe\":1.0,\"at\":null},{\"measure\":\"thresholds\",\"full\":null,\"coarse\":0.5,\"fine\":0.05,\"coarse_dwell\":0.02,\"dwell\":0.05,\"walks\":1},{\"measure\":\"timing\",\"coil\":13.5,\"clamp\":\"tvs\",\"makes\":3},{\"measure\":\"contact\",\"coil\":13.5,\"load\":10.0,\"makes\":10,\"pulse\":0.012}],\"wanted\":[\"contact_rest\",\"contact_operated\",\"coil_resistance\",\"coil_resistance_20c\",\"pull_in_voltage\",\"pull_in_voltage_20c\",\"pull_in_current\",\"drop_out_voltage\",\"operate_time\",\"release_time\",\"bounce_time_no\",\"bounce_time_nc\",\"transfer_time\",\"contact_drop_no\",\"contact_drop_nc\",\"contact_dry_nc\",\"leakage_open_contact\",\"leakage_coil_contact\",\"coil_resistance_low\",\"armature_start_time\",\"armature_seat_time\",\"contact_before_load_no\",\"contact_loaded_no\",\"contact_after_load_no\",\"contact_scatter_no\",\"contact_before_load_nc\",\"contact_loaded_nc\",\"contact_after_load_nc\",\"contact_scatter_nc\",\"coil_resistance_hot\",\"coil_rise\",\"pull_in_voltage_85c\",\"release_after_load\",\"contact_climb_no\",\"drop_out_overdriven\",\"flyback_peak\",\"flyback_class\"],\"limits\":{\"pull_in_voltage\":{\"text\":\"<= 8.40 V (70 % of nominal 12 V)\",\"source\":{\"text\":\"invented sheet of the bus depot\",\"known\":\"assumed\"},\"unit\":\"V\",\"low\":null,\"high\":8.4,\"state\":null},\"contact_drop_no\":{\"text\":\"<= 200 mV at 10 A\",\"source\":{\"text\":\"an invented house rule\",\"known\":\"common practice\"},\"unit\":\"V\",\"low\":null,\"high\":0.2,\"state\":null},\"coil_resistance_20c\":{\"text\":\"81.0 to 99.0 ohm (90 ohm +-10 %)\",\"source\":{\"text\":\"invented sheet of the bus depot\",\"known\":\"assumed\"},\"unit\":\"ohm\",\"low\":81.0,\"high\":99.0,\"state\":null}},\"unlimited\":{},\"sha256\":\"5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f\"}"}');
CREATE TABLE fault (
	run VARCHAR NOT NULL, 
	seq INTEGER NOT NULL, 
	id VARCHAR NOT NULL, 
	weight FLOAT NOT NULL, 
	body VARCHAR NOT NULL, 
	PRIMARY KEY (run, seq), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "fault" VALUES('20260504T093015-000001',0,'burnt_no',0.9,'{"id":"burnt_no","title":"burnt contact","weight":0.9,"advice":"An invented advice.","evidence":[],"rivals":[],"further":""}');
INSERT INTO "fault" VALUES('20260504T093015-000002',0,'burnt_no',0.9,'{"id":"burnt_no","title":"burnt contact","weight":0.9,"advice":"An invented advice.","evidence":[],"rivals":[],"further":""}');
INSERT INTO "fault" VALUES('20260504T093015-000004',0,'burnt_no',0.9,'{"id":"burnt_no","title":"burnt contact","weight":0.9,"advice":"An invented advice.","evidence":[],"rivals":[],"further":""}');
CREATE TABLE golden (
	"key" INTEGER NOT NULL, 
	part VARCHAR NOT NULL, 
	run VARCHAR NOT NULL, 
	marked VARCHAR NOT NULL, 
	PRIMARY KEY ("key"), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "golden" VALUES(1,'P0001','20260504T093015-000001','2026-05-04T09:30:15.250000+00:00');
CREATE TABLE link (
	seq INTEGER NOT NULL, 
	at VARCHAR NOT NULL, 
	run VARCHAR, 
	rows VARCHAR NOT NULL, 
	hash VARCHAR NOT NULL, 
	PRIMARY KEY (seq)
);
INSERT INTO "link" VALUES(1,'2026-11-25T13:21:01.224576+00:00','20260504T093015-000001','[["part",1,"e2aca190"],["document","22438915b55276bc181e17c331e31da65fb00dc1d0da43284c6fad66f180a25d","6b8ddafd"],["document","b50831aa81ca9d15758f70b3503bd3a6f6f17a2c8ab12dfb740048e8a20bbd57","0c0a264d"],["run","20260504T093015-000001","38a48f31"]]','57855c9526a7d6ce1b2b21258d279f72e1b4d760e943c79a37bd397297338f19');
INSERT INTO "link" VALUES(2,'2026-11-25T13:21:01.240118+00:00','20260504T093015-000001','[["measurement",".",0,"e678610d"],["raw",".","4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276","523c7bc4"],["measurement_raw",".",0,0,"bd235aba"]]','4073573e29028bf667454c9c7c1db90ac4e0d1d05d5f3e384d0e55115e9dddb9');
INSERT INTO "link" VALUES(3,'2026-11-25T13:21:01.247094+00:00','20260504T093015-000001','[["measurement",".",1,"fcd6496f"],["raw",".","03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606","d24b4f20"],["measurement_raw",".",1,0,"0e95f987"]]','641ea4e091e7b3823dabc1aee9ecd1a95fa6b61d5a90d491b4c833df92fd20fd');
INSERT INTO "link" VALUES(4,'2026-11-25T13:21:01.250476+00:00','20260504T093015-000001','[["measurement",".",2,"32845dcf"],["measurement_raw",".",2,0,"1b53cb56"]]','2645f82cad126ccaae7e081d9cecd91a86a35b4cf08d5383ad9cc5695e5168de');
INSERT INTO "link" VALUES(5,'2026-11-25T13:21:01.254494+00:00','20260504T093015-000001','[["measurement",".",3,"eca42e16"]]','8d47393b109e328474722b0248d383e8e81f9562b329cc98be7facb6274b7a89');
INSERT INTO "link" VALUES(6,'2026-11-25T13:21:01.258515+00:00','20260504T093015-000001','[["measurement",".",4,"cb7a47e3"]]','6f53e2a3ccc64d04f8c21d02d442f65c52081797cdcea3143be57d780e13b0b9');
INSERT INTO "link" VALUES(7,'2026-11-25T13:21:01.262787+00:00','20260504T093015-000001','[["measurement",".",5,"220e250d"],["raw",".","03c3cd191969111afdd17e6ef2c97267769cca94e2982b80a606ba2d39f497e5","bc0ba20f"],["measurement_raw",".",5,0,"86c835b9"],["raw",".","2a7bef2425af52f536dfe2464be9fea977563f8231f52aa98df1e7766f510fbc","c68eabdc"],["measurement_raw",".",5,1,"8cc66fea"],["raw",".","9e636280e03156c261bb3864fd621e7eac5e98a62d1ebf4ae348c534dc11982b","ae1bed3d"],["measurement_raw",".",5,2,"2548bbf6"]]','3bb1af0d888f20d020f519d8c711d8fe91d552aeb04398fe44242db1d72329e2');
INSERT INTO "link" VALUES(8,'2026-11-25T13:21:01.266466+00:00','20260504T093015-000001','[["measurement",".",6,"7e32b54f"],["raw",".","258d8443ef4c6d8658b5945746b88967cb016ea4b4052831a35532c457d40ceb","5f6593b7"],["measurement_raw",".",6,0,"42d61ef3"],["raw",".","6498d57981106f54a5978f014dbd33d39fb3eb23b1efbcda91b0e058a5216ce8","0bdf0686"],["measurement_raw",".",6,1,"79cd3bc5"],["raw",".","ca2a3cb85c1100b77f2631297d4a83f3f3ea4451e73cc2dfe08544d7d629c8b6","1c9235c3"],["measurement_raw",".",6,2,"309483b4"]]','aae4a0f8116cc78f6d71b54b2fdd25fe3fd58d0a929f6865cfb50b3325e247a8');
INSERT INTO "link" VALUES(9,'2026-11-25T13:21:01.270394+00:00','20260504T093015-000001','[["measurement",".",7,"3d0777c7"],["measurement_raw",".",7,0,"58f955a9"],["measurement_raw",".",7,1,"b97bba8e"],["measurement_raw",".",7,2,"a51c0d03"]]','1db299f889b0947df77a58f0e3576a3e8595e0017fd5c9fa1d484afb71711e69');
INSERT INTO "link" VALUES(10,'2026-11-25T13:21:01.274374+00:00','20260504T093015-000001','[["measurement",".",8,"8a3a5c20"],["measurement_raw",".",8,0,"77b37781"],["measurement_raw",".",8,1,"9636041e"],["measurement_raw",".",8,2,"bc6c0654"]]','15f51637450b7747dbc4d6ba05ce093ef41843ac1792d56315c0e38ff534d108');
INSERT INTO "link" VALUES(11,'2026-11-25T13:21:01.278282+00:00','20260504T093015-000001','[["measurement",".",9,"4aa53c16"]]','025414bd2a855f0dcf93cd0bff47a09a5accfb2856721cb86ef8fc09e8e5ba0e');
INSERT INTO "link" VALUES(12,'2026-11-25T13:21:01.282500+00:00','20260504T093015-000001','[["fault",".",0,"79717d70"],["run_end",".","fe63e9ed"]]','f056afdffdb73bd9616bf978b92390aead7c165e0fb3f2d23f63ba10b5e3677a');
INSERT INTO "link" VALUES(13,'2026-11-25T13:21:01.294395+00:00','20260504T093015-000002','[["part",2,"f38530ff"],["run","20260504T093015-000002","ec547083"]]','dbf3dce8cac7bcac7fc143c1855787d19529914ffca51c694634df2bd4522ccf');
INSERT INTO "link" VALUES(14,'2026-11-25T13:21:01.298163+00:00','20260504T093015-000002','[["measurement",".",0,"6cfe529b"],["raw",".","4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276","57083acd"],["measurement_raw",".",0,0,"c2001233"]]','2732cff67419d2ca794a6e044b0cc4436772ff65d3256f3953b9fb895d43f873');
INSERT INTO "link" VALUES(15,'2026-11-25T13:21:01.302006+00:00','20260504T093015-000002','[["measurement",".",1,"70deb19f"]]','7a49c32cd436b69310c28881eab3f32416d8500b5020820502a63c7ef1eb7347');
INSERT INTO "link" VALUES(16,'2026-11-25T13:21:01.306260+00:00','20260504T093015-000002','[["measurement",".",2,"bdd2e3ea"]]','bdbce7ab86b13ac22e4c03a180395a3c0e4399bb452f7ee7e03e68d3e30b37af');
INSERT INTO "link" VALUES(17,'2026-11-25T13:21:01.310085+00:00','20260504T093015-000002','[["measurement",".",3,"f4a59214"]]','1710d154e03d6c7891bf63fef1333cfd13b6479470ed0395af4df7d14da27f28');
INSERT INTO "link" VALUES(18,'2026-11-25T13:21:01.313959+00:00','20260504T093015-000002','[["measurement",".",4,"88eea455"]]','c73b32ce76850cde33679cecbaffac9f5da6392b34d943bc6047da3bb1f7ab07');
INSERT INTO "link" VALUES(19,'2026-11-25T13:21:01.317994+00:00','20260504T093015-000002','[["measurement",".",5,"ab63510c"]]','46530be29406971a7edc35b1ec145ce9e851139ab3a325678af5d528f637c364');
INSERT INTO "link" VALUES(20,'2026-11-25T13:21:01.321971+00:00','20260504T093015-000002','[["measurement",".",6,"ac9457c5"]]','fb454674488d09a44f614235ba480893dd64f2a2c3011959fba90b3ece98f683');
INSERT INTO "link" VALUES(21,'2026-11-25T13:21:01.326115+00:00','20260504T093015-000002','[["fault",".",0,"ad3f4505"],["run_end",".","689327ee"]]','0be72e023db513e93147596e9f3a6640494662ae4e689c99727c8a88897bdf90');
INSERT INTO "link" VALUES(22,'2026-11-25T13:21:01.339463+00:00','20260504T093015-000003','[["part",3,"34dd3f9b"],["run","20260504T093015-000003","d7be0d79"]]','4a100bcdce9da6ba0d5f8dc46c36865c42a8b69be942a22d164135ed2e0adbdf');
INSERT INTO "link" VALUES(23,'2026-11-25T13:21:01.342579+00:00','20260504T093015-000003','[["measurement",".",0,"c656b4fa"],["raw",".","4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276","28494011"],["measurement_raw",".",0,0,"b75f353d"]]','be7dc8a928717ed3b61df74f4d1a45a1cd563a5632c2b8e9bf1a920a909eba6a');
INSERT INTO "link" VALUES(24,'2026-11-25T13:21:01.350548+00:00','20260504T093015-000003','[["measurement",".",1,"0d19f4a6"],["raw",".","03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606","c700dc7a"],["measurement_raw",".",1,0,"9b5b4ceb"]]','8466f6fdf46b24a443763a487dc2d3356567a76203c8d0c53c0fc13bb199f378');
INSERT INTO "link" VALUES(25,'2026-11-25T13:21:01.354231+00:00','20260504T093015-000003','[["measurement",".",2,"cdbc26e7"],["measurement_raw",".",2,0,"2033c43b"]]','2ced01e01ac2375fe2f95a4d0e2dbec403680bf041a0d3f04a8c1220a5141549');
INSERT INTO "link" VALUES(26,'2026-11-25T13:21:01.358189+00:00','20260504T093015-000003','[["measurement",".",3,"44ef939a"]]','02442f07c17d010439c54607564103c37ad63d86bf2545caf306f55bed47d684');
INSERT INTO "link" VALUES(27,'2026-11-25T13:21:01.365480+00:00','20260504T093015-000004','[["part",4,"5da53463"],["run","20260504T093015-000004","6497ad41"]]','2da444fd13d90e1ec4ad449947860682531f9f9bd14832aa5f858c69faa8da48');
INSERT INTO "link" VALUES(28,'2026-11-25T13:21:01.374632+00:00','20260504T093015-000004','[["measurement",".",0,"121b902f"],["raw",".","4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276","10d3b562"],["measurement_raw",".",0,0,"5706c6f7"]]','ac95f74feb97e5af43dd103ada37fab37b381ff3418bf021770cfb044cdc0023');
INSERT INTO "link" VALUES(29,'2026-11-25T13:21:01.378356+00:00','20260504T093015-000004','[["measurement",".",1,"da00dba9"],["raw",".","03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606","e3624793"],["measurement_raw",".",1,0,"6d3c4e19"]]','bd36e7c791a27e649137f1c2a6d4d4c045578a7464a052fb31690632c75e4b81');
INSERT INTO "link" VALUES(30,'2026-11-25T13:21:01.382380+00:00','20260504T093015-000004','[["measurement",".",2,"81d97d9e"],["measurement_raw",".",2,0,"d49978d7"]]','f79fe0031f025cb38c9863c488e92c6dd56080b01850d700b80e12acf03e499d');
INSERT INTO "link" VALUES(31,'2026-11-25T13:21:01.386452+00:00','20260504T093015-000004','[["measurement",".",3,"84cc3cdb"]]','3c4ad69321fe47eef75310b18d4b90b7dc32b71f6e389a3a23b6cc773dd1a814');
INSERT INTO "link" VALUES(32,'2026-11-25T13:21:01.390288+00:00','20260504T093015-000004','[["measurement",".",4,"728a53ff"]]','03ae947f6bf57931dfae583d4158f8631fb245ff615428f9b723ad6d2e4214ab');
INSERT INTO "link" VALUES(33,'2026-11-25T13:21:01.394417+00:00','20260504T093015-000004','[["fault",".",0,"e9a8c824"],["run_end",".","9c644d27"]]','ec7cc56cb84d5a1256ed5d5a285299b1410c72e5894e5e6fccf263389334784b');
INSERT INTO "link" VALUES(34,'2026-11-25T13:21:01.403732+00:00',NULL,'[["calibration",1,"2bb90ee6"]]','ae75d8e49f6979944fcf4f415e0701e22fd81a2b55807c874f31d73b8f36b181');
INSERT INTO "link" VALUES(35,'2026-11-25T13:21:01.411855+00:00','20260504T093015-000001','[["golden",1,"87649a06"]]','fdeb9530c99acf3561c4cf8618bc030434e1f0489c90af449cc902bbef6f8c2a');
INSERT INTO "link" VALUES(36,'2026-11-25T13:21:01.419389+00:00',NULL,'[["crate","Crate 4","db5f9fb6"]]','d5a6e32d0295c29595d80044271129f5847c9e34af13fb6a31d19af97dc879f8');
INSERT INTO "link" VALUES(37,'2026-11-25T13:21:01.427788+00:00',NULL,'[["crate_event","Crate 4",1,"9ab29626"]]','aa545a3697a09e476852b5e508cc39cc706403851d2eabfb784dde2253ef0079');
INSERT INTO "link" VALUES(38,'2026-11-25T13:21:01.435722+00:00',NULL,'[["part_event","20261125T132101-00000005","ce3455e7"]]','f8ff178e28fa8ef2ba22ab44e6a25f4c149f24312d5e2d274bab0aa59f06a418');
INSERT INTO "link" VALUES(39,'2026-11-25T13:21:01.443305+00:00',NULL,'[["part",5,"0cf42db6"]]','deb04ff45cbed52cbf0c4c300b257fb04ebebe8484bceb7d50a1a0aeaf5faaad');
INSERT INTO "link" VALUES(40,'2026-11-25T13:21:01.452346+00:00','20260504T093015-000001','[["document","5b54d972a44a14893b94fba49f7e958ba05731d63a036de568554c66f33eae79","b6813625"],["rejudged","20260504T103015-00000160","8cdcb0ed"]]','234f02008a8796201fde55311afb8a26633170181c83a8050ed32c5bc22d82f7');
INSERT INTO "link" VALUES(41,'2026-11-28T02:18:48.490318+00:00',NULL,'[["birth","029064d92604d0a77a61f267e6f502253209457ea00810c79a88b8aea0d2a606","883d1230"],["birth","20260504T093015-000001","d5b849a3"],["birth","20260504T093015-000003","71a60d90"],["birth","20260504T093015-000002","f86b14a6"]]','b6931d41b1f7948e969152db0709461c00b48961236a60582aa35ce51328a859');
CREATE TABLE measurement (
	run VARCHAR NOT NULL, 
	seq INTEGER NOT NULL, 
	id VARCHAR NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	outcome VARCHAR NOT NULL, 
	reason VARCHAR NOT NULL, 
	not_tested VARCHAR, 
	without_load BOOLEAN, 
	value FLOAT, 
	unit VARCHAR, 
	state VARCHAR, 
	bound VARCHAR, 
	expanded_uncertainty FLOAT, 
	limit_text VARCHAR, 
	limit_low FLOAT, 
	limit_high FLOAT, 
	limit_state VARCHAR, 
	limit_unit VARCHAR, 
	limit_source VARCHAR, 
	limit_known VARCHAR, 
	conditions VARCHAR, 
	budget VARCHAR, 
	makes VARCHAR, 
	PRIMARY KEY (run, seq), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "measurement" VALUES('20260504T093015-000001',0,'contact_rest',1,'pass','as a changeover relay should',NULL,NULL,NULL,'','NO open, NC closed','=',0.0,'NO open, NC closed',NULL,NULL,'NO open, NC closed','','an invented house rule','common practice','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',1,'coil_resistance',1,'noted','no limit at this temperature',NULL,NULL,90.4,'ohm',NULL,'=',8.50504964987791156616e-01,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.32000000000000006,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.24,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',2,'coil_resistance_20c',1,'pass','inside the limits',NULL,NULL,89.9,'ohm',NULL,'=',1.06313120623473889025e+00,'81.0 to 99.0 ohm (90 ohm +-10 %)',81.0,99.0,NULL,'ohm','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.4,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.3,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',3,'pull_in_voltage',1,'pass','well under the limit',NULL,NULL,6.94,'V',NULL,'=',6.37878723740843284195e-02,'<= 8.40 V (70 % of nominal 12 V)',NULL,8.4,NULL,'V','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.024,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.018,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',4,'drop_out_voltage',1,'pass','over the limit',NULL,NULL,2.81,'V',NULL,'=',6.37878723740843284195e-02,'>= 1.20 V (10 % of nominal 12 V)',1.2,NULL,NULL,'V','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.024,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.018,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',5,'operate_time',1,'pass','under the limit',NULL,NULL,0.0049,'s',NULL,'=',4.25252482493895613349e-05,'<= 10.0 ms',NULL,0.01,NULL,'s','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.000016000000000000003,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.000012,"why":"makes","freedom":2.0,"shape":"normal"}]','[0.0048,0.0049,0.0051]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',6,'release_time',1,'noted','no limit set',NULL,NULL,0.0026,'s',NULL,'=',4.25252482493895613349e-05,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.000016000000000000003,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.000012,"why":"makes","freedom":2.0,"shape":"normal"}]','[0.00255,0.0026,0.0027]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',7,'bounce_time_no',1,'noted','no limit set',NULL,NULL,0.0004,'s',NULL,'=',2.12626241246947764304e-06,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":8e-7,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":6e-7,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',8,'transfer_time',1,'noted','no limit set',NULL,NULL,0.0008,'s',NULL,'=',2.12626241246947764304e-06,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":8e-7,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":6e-7,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000001',9,'contact_drop_no',1,'fail','above the limit beyond doubt',NULL,NULL,0.734,'V',NULL,'=',0.00850504964987791,'<= 200 mV at 10 A',NULL,0.2,NULL,'V','an invented house rule','common practice','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.0032,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.0024,"why":"makes","freedom":2.0,"shape":"normal"}]','[0.6,0.734,0.91]');
INSERT INTO "measurement" VALUES('20260504T093015-000002',0,'contact_rest',0,'pass','as a changeover relay should',NULL,NULL,NULL,'','NO open, NC closed','=',0.0,'NO open, NC closed',NULL,NULL,'NO open, NC closed','','an invented house rule','common practice','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000002',1,'coil_resistance',0,'fail','open',NULL,NULL,10000.0,'ohm',NULL,'>',0.0,'81.0 to 99.0 ohm (90 ohm +-10 %)',81.0,99.0,NULL,'ohm','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000002',2,'coil_resistance_20c',0,'not tested','the coil takes no current, so the relay cannot be operated','the coil takes no current, so the relay cannot be operated',0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "measurement" VALUES('20260504T093015-000002',3,'pull_in_voltage',0,'not tested','the coil takes no current, so the relay cannot be operated','the coil takes no current, so the relay cannot be operated',0,NULL,NULL,NULL,NULL,NULL,'<= 8.40 V (70 % of nominal 12 V)',NULL,8.4,NULL,'V','invented sheet of the bus depot','assumed',NULL,NULL,NULL);
INSERT INTO "measurement" VALUES('20260504T093015-000002',4,'operate_time',0,'not tested','the coil takes no current, so the relay cannot be operated','the coil takes no current, so the relay cannot be operated',0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "measurement" VALUES('20260504T093015-000002',5,'release_time',0,'not tested','the coil takes no current, so the relay cannot be operated','the coil takes no current, so the relay cannot be operated',0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "measurement" VALUES('20260504T093015-000002',6,'contact_drop_no',0,'not tested','the coil takes no current, so the relay cannot be operated','the coil takes no current, so the relay cannot be operated',0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "measurement" VALUES('20260504T093015-000003',0,'contact_rest',1,'pass','as a changeover relay should',NULL,NULL,NULL,'','NO open, NC closed','=',0.0,'NO open, NC closed',NULL,NULL,'NO open, NC closed','','an invented house rule','common practice','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000003',1,'coil_resistance',1,'noted','no limit at this temperature',NULL,NULL,90.4,'ohm',NULL,'=',8.50504964987791156616e-01,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.32000000000000006,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.24,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000003',2,'coil_resistance_20c',1,'pass','inside the limits',NULL,NULL,89.9,'ohm',NULL,'=',1.06313120623473889025e+00,'81.0 to 99.0 ohm (90 ohm +-10 %)',81.0,99.0,NULL,'ohm','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.4,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.3,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000003',3,'pull_in_voltage',1,'pass','well under the limit',NULL,NULL,6.94,'V',NULL,'=',6.37878723740843284195e-02,'<= 8.40 V (70 % of nominal 12 V)',NULL,8.4,NULL,'V','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.024,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.018,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000004',0,'contact_rest',1,'pass','as a changeover relay should',NULL,NULL,NULL,'','NO open, NC closed','=',0.0,'NO open, NC closed',NULL,NULL,'NO open, NC closed','','an invented house rule','common practice','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000004',1,'coil_resistance',1,'noted','no limit at this temperature',NULL,NULL,90.4,'ohm',NULL,'=',8.50504964987791156616e-01,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.32000000000000006,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.24,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000004',2,'coil_resistance_20c',1,'pass','inside the limits',NULL,NULL,89.9,'ohm',NULL,'=',1.06313120623473889025e+00,'81.0 to 99.0 ohm (90 ohm +-10 %)',81.0,99.0,NULL,'ohm','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.4,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.3,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000004',3,'pull_in_voltage',1,'pass','well under the limit',NULL,NULL,6.94,'V',NULL,'=',6.37878723740843284195e-02,'<= 8.40 V (70 % of nominal 12 V)',NULL,8.4,NULL,'V','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.024,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.018,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
INSERT INTO "measurement" VALUES('20260504T093015-000004',4,'drop_out_voltage',1,'pass','over the limit',NULL,NULL,2.81,'V',NULL,'=',6.37878723740843284195e-02,'>= 1.20 V (10 % of nominal 12 V)',1.2,NULL,NULL,'V','invented sheet of the bus depot','assumed','[{"name":"coil voltage","text":"13.50 V","value":13.5,"unit":"V"},{"name":"bench temperature","text":"21.4 degC","value":21.4,"unit":"degC"},{"name":"clamp","text":"68 V TVS of the bench","value":null,"unit":""}]','[{"name":"scale","u":0.024,"why":"maker''s limit of the converter","freedom":null,"shape":"normal"},{"name":"scatter","u":0.018,"why":"makes","freedom":2.0,"shape":"normal"}]','[]');
CREATE TABLE measurement_raw (
	run VARCHAR NOT NULL, 
	seq INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	sha256 VARCHAR NOT NULL, 
	PRIMARY KEY (run, seq, position), 
	FOREIGN KEY(run, seq) REFERENCES measurement (run, seq), 
	FOREIGN KEY(run, sha256) REFERENCES raw (run, sha256)
);
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',0,0,'4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',1,0,'03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',2,0,'03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',5,0,'03c3cd191969111afdd17e6ef2c97267769cca94e2982b80a606ba2d39f497e5');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',5,1,'2a7bef2425af52f536dfe2464be9fea977563f8231f52aa98df1e7766f510fbc');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',5,2,'9e636280e03156c261bb3864fd621e7eac5e98a62d1ebf4ae348c534dc11982b');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',6,0,'258d8443ef4c6d8658b5945746b88967cb016ea4b4052831a35532c457d40ceb');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',6,1,'6498d57981106f54a5978f014dbd33d39fb3eb23b1efbcda91b0e058a5216ce8');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',6,2,'ca2a3cb85c1100b77f2631297d4a83f3f3ea4451e73cc2dfe08544d7d629c8b6');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',7,0,'03c3cd191969111afdd17e6ef2c97267769cca94e2982b80a606ba2d39f497e5');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',7,1,'2a7bef2425af52f536dfe2464be9fea977563f8231f52aa98df1e7766f510fbc');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',7,2,'9e636280e03156c261bb3864fd621e7eac5e98a62d1ebf4ae348c534dc11982b');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',8,0,'03c3cd191969111afdd17e6ef2c97267769cca94e2982b80a606ba2d39f497e5');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',8,1,'2a7bef2425af52f536dfe2464be9fea977563f8231f52aa98df1e7766f510fbc');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000001',8,2,'9e636280e03156c261bb3864fd621e7eac5e98a62d1ebf4ae348c534dc11982b');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000002',0,0,'4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000003',0,0,'4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000003',1,0,'03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000003',2,0,'03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000004',0,0,'4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000004',1,0,'03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606');
INSERT INTO "measurement_raw" VALUES('20260504T093015-000004',2,0,'03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606');
CREATE TABLE part (
	"key" INTEGER NOT NULL, 
	id VARCHAR NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	form VARCHAR NOT NULL, 
	label VARCHAR NOT NULL, 
	donor VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	PRIMARY KEY ("key")
);
INSERT INTO "part" VALUES(1,'P0001',1,'C','horn relay','bus 12, retired','crate 4');
INSERT INTO "part" VALUES(2,'P0002',0,'C','indicator relay, bus 12','bus 12, retired','crate 4');
INSERT INTO "part" VALUES(3,'P0003',1,'C','indicator relay, bus 12','bus 12, retired','crate 4');
INSERT INTO "part" VALUES(4,'P0001',1,'C','horn relay, bus 7','bus 12, retired','crate 4');
INSERT INTO "part" VALUES(5,'P0004',1,'A','spare','','');
CREATE TABLE part_alias (
	id VARCHAR NOT NULL, 
	part VARCHAR NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE part_event (
	id VARCHAR NOT NULL, 
	part VARCHAR NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	at VARCHAR NOT NULL, 
	written VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	body VARCHAR NOT NULL, 
	PRIMARY KEY (id)
);
INSERT INTO "part_event" VALUES('20261125T132101-00000005','P0001',1,'2026-05-04T09:30:15.250000+00:00','2026-11-25T13:21:01.433794+00:00','note','{"part":"P0001","at":"2026-05-04T09:30:15.250000Z","kind":"note","text":"cleaned","place":"","photo":"","card":null,"operator":"","id":"20261125T132101-00000005"}');
CREATE TABLE part_figure (
	part VARCHAR NOT NULL, 
	id VARCHAR NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	rating VARCHAR NOT NULL, 
	unit VARCHAR NOT NULL, 
	readings INTEGER NOT NULL, 
	first_at FLOAT NOT NULL, 
	first FLOAT NOT NULL, 
	last_at FLOAT NOT NULL, 
	last FLOAT NOT NULL, 
	last_u FLOAT NOT NULL, 
	low FLOAT, 
	high FLOAT, 
	sum_t FLOAT NOT NULL, 
	sum_x FLOAT NOT NULL, 
	sum_tt FLOAT NOT NULL, 
	sum_tx FLOAT NOT NULL, 
	per_year FLOAT, 
	limit_at FLOAT, 
	PRIMARY KEY (part, id)
);
INSERT INTO "part_figure" VALUES('P0001','coil_resistance_20c',1,'depot-changeover-12v','ohm',2,6.33920878805739373973e+00,89.9,6.33920878805739373973e+00,89.9,1.06313120623473889025e+00,81.0,99.0,1.26784175761147874792e+01,179.8,8.03711361171681772964e+01,1.13978974009271951219e+03,NULL,NULL);
INSERT INTO "part_figure" VALUES('P0001','drop_out_voltage',1,'depot-changeover-12v','V',2,6.33920878805739373973e+00,2.81,6.33920878805739373973e+00,2.81,6.37878723740843284195e-02,1.2,NULL,1.26784175761147874792e+01,5.62,8.03711361171681772964e+01,3.56263533888825563162e+01,NULL,NULL);
INSERT INTO "part_figure" VALUES('P0001','operate_time',1,'depot-changeover-12v','s',1,6.33920878805739373973e+00,0.0049,6.33920878805739373973e+00,0.0049,4.25252482493895613349e-05,NULL,0.01,6.33920878805739373973e+00,0.0049,4.01855680585840886482e+01,3.10621230614812268711e-02,NULL,NULL);
INSERT INTO "part_figure" VALUES('P0001','release_time',1,'depot-changeover-12v','s',1,6.33920878805739373973e+00,0.0026,6.33920878805739373973e+00,0.0026,4.25252482493895613349e-05,NULL,NULL,6.33920878805739373973e+00,0.0026,4.01855680585840886482e+01,1.64819428489492228462e-02,NULL,NULL);
INSERT INTO "part_figure" VALUES('P0001','bounce_time_no',1,'depot-changeover-12v','s',1,6.33920878805739373973e+00,0.0004,6.33920878805739373973e+00,0.0004,2.12626241246947764304e-06,NULL,NULL,6.33920878805739373973e+00,0.0004,4.01855680585840886482e+01,2.53568351522295756111e-03,NULL,NULL);
INSERT INTO "part_figure" VALUES('P0001','contact_drop_no',1,'depot-changeover-12v','V',1,6.33920878805739373973e+00,0.734,6.33920878805739373973e+00,0.734,0.00850504964987791,NULL,0.2,6.33920878805739373973e+00,0.734,4.01855680585840886482e+01,4.65297925043412696766e+00,NULL,6.33920878805739373973e+00);
CREATE TABLE part_now (
	id VARCHAR NOT NULL, 
	"key" INTEGER NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	form VARCHAR NOT NULL, 
	label VARCHAR NOT NULL, 
	donor VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	runs INTEGER NOT NULL, 
	run VARCHAR NOT NULL, 
	started VARCHAR NOT NULL, 
	protocol VARCHAR NOT NULL, 
	protocol_version INTEGER NOT NULL, 
	rating VARCHAR NOT NULL, 
	board_kind VARCHAR NOT NULL, 
	operator VARCHAR NOT NULL, 
	ended VARCHAR, 
	overall VARCHAR, 
	PRIMARY KEY (id)
);
INSERT INTO "part_now" VALUES('P0001',4,1,'C','horn relay, bus 7','bus 12, retired','crate 4',2,'20260504T093015-000004','2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'depot-changeover-12v','virtual','second shift','2026-05-04T09:30:29.250000+00:00','pass');
INSERT INTO "part_now" VALUES('P0002',2,0,'C','indicator relay, bus 12','bus 12, retired','crate 4',1,'20260504T093015-000002','2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'depot-changeover-12v','real','second shift','2026-05-04T09:30:29.250000+00:00','fail');
INSERT INTO "part_now" VALUES('P0003',3,1,'C','indicator relay, bus 12','bus 12, retired','crate 4',1,'20260504T093015-000003','2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'depot-changeover-12v','virtual','second shift',NULL,NULL);
INSERT INTO "part_now" VALUES('P0004',5,1,'A','spare','','',0,'','','',0,'','','',NULL,NULL);
CREATE TABLE part_word (
	word VARCHAR NOT NULL, 
	part VARCHAR NOT NULL, 
	PRIMARY KEY (word, part)
)
 WITHOUT ROWID

;
INSERT INTO "part_word" VALUES('12','P0001');
INSERT INTO "part_word" VALUES('4','P0001');
INSERT INTO "part_word" VALUES('7','P0001');
INSERT INTO "part_word" VALUES('bus','P0001');
INSERT INTO "part_word" VALUES('crate','P0001');
INSERT INTO "part_word" VALUES('horn','P0001');
INSERT INTO "part_word" VALUES('p0001','P0001');
INSERT INTO "part_word" VALUES('relay','P0001');
INSERT INTO "part_word" VALUES('retired','P0001');
INSERT INTO "part_word" VALUES('12','P0002');
INSERT INTO "part_word" VALUES('4','P0002');
INSERT INTO "part_word" VALUES('bus','P0002');
INSERT INTO "part_word" VALUES('crate','P0002');
INSERT INTO "part_word" VALUES('indicator','P0002');
INSERT INTO "part_word" VALUES('p0002','P0002');
INSERT INTO "part_word" VALUES('relay','P0002');
INSERT INTO "part_word" VALUES('retired','P0002');
INSERT INTO "part_word" VALUES('12','P0003');
INSERT INTO "part_word" VALUES('4','P0003');
INSERT INTO "part_word" VALUES('bus','P0003');
INSERT INTO "part_word" VALUES('crate','P0003');
INSERT INTO "part_word" VALUES('indicator','P0003');
INSERT INTO "part_word" VALUES('p0003','P0003');
INSERT INTO "part_word" VALUES('relay','P0003');
INSERT INTO "part_word" VALUES('retired','P0003');
INSERT INTO "part_word" VALUES('p0004','P0004');
INSERT INTO "part_word" VALUES('spare','P0004');
CREATE TABLE pulldrop_version (version_num VARCHAR(32) NOT NULL, CONSTRAINT pulldrop_version_pkc PRIMARY KEY (version_num));
INSERT INTO "pulldrop_version" VALUES('0009');
CREATE TABLE raw (
	run VARCHAR NOT NULL, 
	sha256 VARCHAR NOT NULL, 
	body BLOB NOT NULL, 
	PRIMARY KEY (run, sha256), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "raw" VALUES('20260504T093015-000001','4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276',X'789CAB562A2EC92F28484D51B22A292A4DD551CACC4B49AD50B232D1514A494C56B2323530D0514ACECF2B494C2E2956B232AA05009A030FCE');
INSERT INTO "raw" VALUES('20260504T093015-000001','03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606',X'789CAB564A2A2D56B2B2343330D0512ACE28CD2B51B232353636AE05005F9E073A');
INSERT INTO "raw" VALUES('20260504T093015-000001','03c3cd191969111afdd17e6ef2c97267769cca94e2982b80a606ba2d39f497e5',X'789CED94CF6E1A311087DF65CF73B067C65E9B57A922446113A1D25065A97288FAEEFDBC2C8122D12AE925871C3EAD3DF39B3F1ED0BC74C3E66118BBC59797EEB05D7FEB16258420DD7AFF7858AD0FDD4239EFF6E3B0E916F7ABDD38FC9293B0E63F84F12C3C3CFDBCD0C5106F09AF32C6E07F4D79F7EA1B975F87FBFDD330F537AEBEFFD84D6F08129368153749597295A2525D62C8126391882B7A1341861E4A037B2DA2A1176D19D4442D4215F52C9AB8A3D78CBF775162B460AF0A452C1854B1E8C09778D35E8C1C669C2D811FEF9AD1B41872D19BF6D4C8D44CD4F35693BCE8A7F354177F29C7FC16C49C6F26073D588DD226E6E4F2A89081E72B6775E0AE05DA48D01A76FA70F2BB1163F878A353CB1D1F7373C7EFF879B73B1A47434D67664E8F9ED0D197277429CDA04D68539941CFBC8EC419E2B2CDF84C9AC917F433E5827A86DFEC4CBC42AFB02BFC06E906F91FF46FA0FC27F5E3C07FEF937773775A59CBB6F6D85BDAB6DEF3F671B37F3E99D8ADCD382DE7253B906DC8758760DC6E86D3E6FC0D3130461F');
INSERT INTO "raw" VALUES('20260504T093015-000001','2a7bef2425af52f536dfe2464be9fea977563f8231f52aa98df1e7766f510fbc',X'789CED94C14EC3300C86DFA5671F12C74993BD0A42D3D83A34313644873820DE9D2F5DC7C6A481800B070E9F92D87FECD8ADFCD2748BDBAE6F26572FCD6E35BF6B26599D9366BEDDEC66F35D3351F6EB6DDF2D9AC972B6EEBB5739084BFE20F447E1EEF1E944E75DB8243C8BE85DFA34E4F5BBAF9FDE74CBED6337BCAF9FDD3FAC871A9CF8285AC482C424A948562926C415EFB3785CDEAA0812B4902BD84B1675AD688DA041347828A296442367F49AF0B726CA1DCDD88B4296E0021409DE805559157B508850F7655CEBD9E1C7E7FD705F738DCF1AC96DB6CF8B76D85388B6358F47AFFB98913DFA4079A10431A740D9E437EA34F5C05E13D4736D0936EE5AC0CE1B2CB4808F5C66F80C1F7D33729AE1A76E333486C6D0D03323AF4574F4C3223ADEBB076D441BF3087AFAB5C78F702F85111B8923E98476249F508EF0CD8EF833F48C70865D205E207D41FB0DF22F297F07FEFF7F7ECCF561644DEBD8636E0D13F779B5596C9F0F260661350EC379CA0C641A725C23E8578BEE3039DF0094E14634');
INSERT INTO "raw" VALUES('20260504T093015-000001','9e636280e03156c261bb3864fd621e7eac5e98a62d1ebf4ae348c534dc11982b',X'789CED94CB6E1B310C45FF65D65C8C48EAE55F2902C3B5278551372E320EB208FAEF391A8FE3C4805B24DD6491C58134979714251B7CEA86CD8F61EC16DF9EBAC376FDB35B94D4F7D2ADF77787D5FAD02D94FD6E3F0E9B6E71BBDA8DC31F391943AF6F9CE1EC3CDC3FBC31E66BC6CB92A1FF6BC99B97D8B8FC3EDCEEEF87A9C171F5EBF76EBA442F218A567193982455292AD525F44942281208056F264890A134D06B11EDB368ABA0266A01AAA827D1C8377E4DC4B38B92A305BD2A14B1DEA08A05075665E52C3374CB621E008D5AE6795EE758F38556A3D5ADC7FA89B3E951C99968FBA665CEAFE48674CCE59296558C5E8C3E9C7B7A3060AF0A1132B4270980660EE8E4BBE1E38E4E7FEEC4E8C939CF9D383D3ABDBAE3713CF4E0115FC4C77B78C417E30CDE88379619FCBCD79130435EB2199F8933E91579A6BCA29EE1373B132ED00BEC02BF42BC42FA07F91D94FFA47E1EF8FF7FF1616E4E236BD9C61E736B1AA48FDBBBCDFEF12431859B384DE725339069C8E70EC3B8DD0CA7C9F90CBDDF466B');
INSERT INTO "raw" VALUES('20260504T093015-000001','258d8443ef4c6d8658b5945746b88967cb016ea4b4052831a35532c457d40ceb',X'789CED93CF0AC2300C87DF25E71EB24D8BF655648CBA6652ACAB2C1D3B0CDFDDAE50FF819E3C8EDF254D3E420B5F6720732206759821D8F60CAA2A1005B4BE0FBA0DA08A583BCF644075DA31DD4406B7EF60F904C330BE70F22BF7B150EE7F2EAC1F336E8ED4F981D2ED585FAE2EBD60B3435195280A8962CD9ABFA6CEA6358BAC51B7729175B2BDF1536E49C4A5997E5413D58D12C7A38B005B43D9F73BC0F1C7E1');
INSERT INTO "raw" VALUES('20260504T093015-000001','6498d57981106f54a5978f014dbd33d39fb3eb23b1efbcda91b0e058a5216ce8',X'789CED93CF0AC2300C87DF25E71EBAA955FA2A32466D3329D655968E1D86EF6E2CD47FA0278FE377499B8F90C2D719D01D9140EF6748DE9E40AF6A2905D8D8276313E88AEB10091DE8CE04C2AB28E0E61DAC9F601AC6174E7DE53E066EE5CF81CDA347ED01BB3860DE8ECCF912F20BD63B29787B512929962CF96B9A625A7B979575CB564FBE77712A574A6683F38F6A595D96988F8101F20E8BEF37B368C7DC');
INSERT INTO "raw" VALUES('20260504T093015-000001','ca2a3cb85c1100b77f2631297d4a83f3f3ea4451e73cc2dfe08544d7d629c8b6',X'789CED934D0AC3201046EF326B171393DAE2554A085627456A6389962C42EF5E23D83F68575D866F33CE3C0685E70C648E1440EE6788569F40D60D2203ED87A8740459A5DAF9400664AF5CA01B2BE0E61DE44F308ED7174E7CE53E166EF9CF85ED6316BA03F57EA47CBBA0CE17975FD0EC90D51C592590AD59F3D7B4C5B46E9135E996659DEC60FC545A027169E61FD5257593C4E9E81210ACA1E2FB1DCC80C7E4');
INSERT INTO "raw" VALUES('20260504T093015-000002','4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276',X'789CAB562A2EC92F28484D51B22A292A4DD551CACC4B49AD50B232D1514A494C56B2323530D0514ACECF2B494C2E2956B232AA05009A030FCE');
INSERT INTO "raw" VALUES('20260504T093015-000003','4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276',X'789CAB562A2EC92F28484D51B22A292A4DD551CACC4B49AD50B232D1514A494C56B2323530D0514ACECF2B494C2E2956B232AA05009A030FCE');
INSERT INTO "raw" VALUES('20260504T093015-000003','03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606',X'789CAB564A2A2D56B2B2343330D0512ACE28CD2B51B232353636AE05005F9E073A');
INSERT INTO "raw" VALUES('20260504T093015-000004','4379182d2288d7759416f04e75c1068efe7082107460c55e59b4ea82c0783276',X'789CAB562A2EC92F28484D51B22A292A4DD551CACC4B49AD50B232D1514A494C56B2323530D0514ACECF2B494C2E2956B232AA05009A030FCE');
INSERT INTO "raw" VALUES('20260504T093015-000004','03a235bd280ef5ba9e0de2a7721e51fe633e669ae6f5799f56b2d57ff6a1c606',X'789CAB564A2A2D56B2B2343330D0512ACE28CD2B51B232353636AE05005F9E073A');
CREATE TABLE rejudged (
	id VARCHAR NOT NULL, 
	run VARCHAR NOT NULL, 
	at VARCHAR NOT NULL, 
	"plan" VARCHAR NOT NULL, 
	decisions VARCHAR NOT NULL, 
	faults VARCHAR NOT NULL, 
	overall VARCHAR NOT NULL, 
	found VARCHAR NOT NULL, 
	means VARCHAR NOT NULL, 
	next VARCHAR NOT NULL, 
	software VARCHAR NOT NULL, 
	operator VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "rejudged" VALUES('20260504T103015-00000160','20260504T093015-000001','2026-05-04T10:30:15.250000+00:00','@5b54d972a44a14893b94fba49f7e958ba05731d63a036de568554c66f33eae79','[{"id":"contact_rest","outcome":"pass","reason":"as a changeover relay should","limit":{"text":"NO open, NC closed","source":{"text":"an invented house rule","known":"common practice"},"unit":"","low":null,"high":null,"state":"NO open, NC closed"}},{"id":"coil_resistance","outcome":"noted","reason":"no limit at this temperature","limit":null},{"id":"coil_resistance_20c","outcome":"pass","reason":"inside the limits","limit":{"text":"81.0 to 99.0 ohm (90 ohm +-10 %)","source":{"text":"invented sheet of the bus depot","known":"assumed"},"unit":"ohm","low":81.0,"high":99.0,"state":null}},{"id":"pull_in_voltage","outcome":"pass","reason":"well under the limit","limit":{"text":"<= 8.40 V (70 % of nominal 12 V)","source":{"text":"invented sheet of the bus depot","known":"assumed"},"unit":"V","low":null,"high":8.4,"state":null}},{"id":"drop_out_voltage","outcome":"pass","reason":"over the limit","limit":{"text":">= 1.20 V (10 % of nominal 12 V)","source":{"text":"invented sheet of the bus depot","known":"assumed"},"unit":"V","low":1.2,"high":null,"state":null}},{"id":"operate_time","outcome":"pass","reason":"under the limit","limit":{"text":"<= 10.0 ms","source":{"text":"invented sheet of the bus depot","known":"assumed"},"unit":"s","low":null,"high":0.01,"state":null}},{"id":"release_time","outcome":"noted","reason":"no limit set","limit":null},{"id":"bounce_time_no","outcome":"noted","reason":"no limit set","limit":null},{"id":"transfer_time","outcome":"noted","reason":"no limit set","limit":null},{"id":"contact_drop_no","outcome":"fail","reason":"above the limit beyond doubt","limit":{"text":"<= 200 mV at 10 A","source":{"text":"an invented house rule","known":"common practice"},"unit":"V","low":null,"high":0.2,"state":null}}]','[{"id":"burnt_no","title":"burnt contact","weight":0.9,"advice":"An invented advice.","evidence":[],"rivals":[],"further":""}]','unsure','An invented finding that ends in unsure.','An invented meaning.','Write the number on the part.','0.1.0','');
CREATE TABLE run (
	id VARCHAR NOT NULL, 
	part INTEGER NOT NULL, 
	simulated BOOLEAN NOT NULL, 
	started VARCHAR NOT NULL, 
	protocol VARCHAR NOT NULL, 
	protocol_version INTEGER NOT NULL, 
	protocol_sha256 VARCHAR NOT NULL, 
	protocol_text VARCHAR NOT NULL, 
	rating VARCHAR NOT NULL, 
	"plan" VARCHAR NOT NULL, 
	board_kind VARCHAR NOT NULL, 
	board_serial INTEGER NOT NULL, 
	firmware VARCHAR NOT NULL, 
	board VARCHAR NOT NULL, 
	calibration VARCHAR NOT NULL, 
	software VARCHAR NOT NULL, 
	operator VARCHAR NOT NULL, 
	specimen VARCHAR NOT NULL, 
	seed INTEGER, 
	PRIMARY KEY (id), 
	FOREIGN KEY(part) REFERENCES part ("key")
);
INSERT INTO "run" VALUES('20260504T093015-000001',1,1,'2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f','# an invented protocol
protocol: depot-changeover-12v
version: 3
','depot-changeover-12v','@22438915b55276bc181e17c331e31da65fb00dc1d0da43284c6fad66f180a25d','virtual',17,'0.1.0','{"kind":"virtual","simulated":true,"serial":17,"firmware":"0.1.0","schema_hash":12648430,"reset_cause":"power on","port":"","load_supply":true,"build":"full"}','@b50831aa81ca9d15758f70b3503bd3a6f6f17a2c8ab12dfb740048e8a20bbd57','0.1.0','second shift','# an invented specimen
name: good
',4);
INSERT INTO "run" VALUES('20260504T093015-000002',2,0,'2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f','# an invented protocol
protocol: depot-changeover-12v
version: 3
','depot-changeover-12v','@22438915b55276bc181e17c331e31da65fb00dc1d0da43284c6fad66f180a25d','real',17,'0.1.0','{"kind":"real","simulated":false,"serial":17,"firmware":"0.1.0","schema_hash":12648430,"reset_cause":"power on","port":"/dev/ttyUSB0","load_supply":true,"build":"full"}','@b50831aa81ca9d15758f70b3503bd3a6f6f17a2c8ab12dfb740048e8a20bbd57','0.1.0','second shift','',NULL);
INSERT INTO "run" VALUES('20260504T093015-000003',3,1,'2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f','# an invented protocol
protocol: depot-changeover-12v
version: 3
','depot-changeover-12v','@22438915b55276bc181e17c331e31da65fb00dc1d0da43284c6fad66f180a25d','virtual',17,'0.1.0','{"kind":"virtual","simulated":true,"serial":17,"firmware":"0.1.0","schema_hash":12648430,"reset_cause":"power on","port":"","load_supply":true,"build":"full"}','@b50831aa81ca9d15758f70b3503bd3a6f6f17a2c8ab12dfb740048e8a20bbd57','0.1.0','second shift','# an invented specimen
name: good
',4);
INSERT INTO "run" VALUES('20260504T093015-000004',4,1,'2026-05-04T09:30:15.250000+00:00','depot-changeover-12v',3,'5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f','# an invented protocol
protocol: depot-changeover-12v
version: 3
','depot-changeover-12v','@22438915b55276bc181e17c331e31da65fb00dc1d0da43284c6fad66f180a25d','virtual',17,'0.1.0','{"kind":"virtual","simulated":true,"serial":17,"firmware":"0.1.0","schema_hash":12648430,"reset_cause":"power on","port":"","load_supply":true,"build":"full"}','@b50831aa81ca9d15758f70b3503bd3a6f6f17a2c8ab12dfb740048e8a20bbd57','0.1.0','second shift','# an invented specimen
name: good
',4);
CREATE TABLE run_end (
	run VARCHAR NOT NULL, 
	ended VARCHAR NOT NULL, 
	bench_s FLOAT NOT NULL, 
	measurements INTEGER NOT NULL, 
	overall VARCHAR NOT NULL, 
	found VARCHAR NOT NULL, 
	means VARCHAR NOT NULL, 
	next VARCHAR NOT NULL, 
	PRIMARY KEY (run), 
	FOREIGN KEY(run) REFERENCES run (id)
);
INSERT INTO "run_end" VALUES('20260504T093015-000001','2026-05-04T09:30:29.250000+00:00',12.25,10,'fail','An invented finding that ends in fail.','An invented meaning.','Write the number on the part.');
INSERT INTO "run_end" VALUES('20260504T093015-000002','2026-05-04T09:30:29.250000+00:00',12.25,7,'fail','An invented finding that ends in fail.','An invented meaning.','Write the number on the part.');
INSERT INTO "run_end" VALUES('20260504T093015-000004','2026-05-04T09:30:29.250000+00:00',12.25,5,'pass','An invented finding that ends in pass.','An invented meaning.','Write the number on the part.');
CREATE INDEX ix_part_id ON part (id);
CREATE INDEX ix_part_event_part ON part_event (part);
CREATE INDEX ix_run_part ON run (part);
CREATE INDEX ix_golden_part ON golden (part);
CREATE INDEX ix_rejudged_run ON rejudged (run);
CREATE TRIGGER part_no_update BEFORE UPDATE ON part BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER part_no_delete BEFORE DELETE ON part BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER part_no_replace BEFORE INSERT ON part WHEN EXISTS (SELECT 1 FROM part WHERE key = NEW.key) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER document_no_update BEFORE UPDATE ON document BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER document_no_delete BEFORE DELETE ON document BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER document_no_replace BEFORE INSERT ON document WHEN EXISTS (SELECT 1 FROM document WHERE sha256 = NEW.sha256) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER run_no_update BEFORE UPDATE ON run BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER run_no_delete BEFORE DELETE ON run BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER run_no_replace BEFORE INSERT ON run WHEN EXISTS (SELECT 1 FROM run WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER raw_no_update BEFORE UPDATE ON raw BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER raw_no_delete BEFORE DELETE ON raw BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER raw_no_replace BEFORE INSERT ON raw WHEN EXISTS (SELECT 1 FROM raw WHERE run = NEW.run AND sha256 = NEW.sha256) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER measurement_no_update BEFORE UPDATE ON measurement BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER measurement_no_delete BEFORE DELETE ON measurement BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER measurement_no_replace BEFORE INSERT ON measurement WHEN EXISTS (SELECT 1 FROM measurement WHERE run = NEW.run AND seq = NEW.seq) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER measurement_before_end BEFORE INSERT ON measurement WHEN EXISTS (SELECT 1 FROM run_end WHERE run = NEW.run) BEGIN SELECT RAISE(ABORT, 'the run has ended'); END;
CREATE TRIGGER measurement_raw_no_update BEFORE UPDATE ON measurement_raw BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER measurement_raw_no_delete BEFORE DELETE ON measurement_raw BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER measurement_raw_no_replace BEFORE INSERT ON measurement_raw WHEN EXISTS (SELECT 1 FROM measurement_raw WHERE run = NEW.run AND seq = NEW.seq AND position = NEW.position) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER fault_no_update BEFORE UPDATE ON fault BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER fault_no_delete BEFORE DELETE ON fault BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER fault_no_replace BEFORE INSERT ON fault WHEN EXISTS (SELECT 1 FROM fault WHERE run = NEW.run AND seq = NEW.seq) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER run_end_no_update BEFORE UPDATE ON run_end BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER run_end_no_delete BEFORE DELETE ON run_end BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER run_end_no_replace BEFORE INSERT ON run_end WHEN EXISTS (SELECT 1 FROM run_end WHERE run = NEW.run) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER calibration_no_update BEFORE UPDATE ON calibration BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER calibration_no_delete BEFORE DELETE ON calibration BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER calibration_no_replace BEFORE INSERT ON calibration WHEN EXISTS (SELECT 1 FROM calibration WHERE key = NEW.key) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER golden_no_update BEFORE UPDATE ON golden BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER golden_no_delete BEFORE DELETE ON golden BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER golden_no_replace BEFORE INSERT ON golden WHEN EXISTS (SELECT 1 FROM golden WHERE key = NEW.key) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER crate_no_update BEFORE UPDATE ON crate BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER crate_no_delete BEFORE DELETE ON crate BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER crate_no_replace BEFORE INSERT ON crate WHEN EXISTS (SELECT 1 FROM crate WHERE name = NEW.name) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER crate_event_no_update BEFORE UPDATE ON crate_event BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER crate_event_no_delete BEFORE DELETE ON crate_event BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER crate_event_no_replace BEFORE INSERT ON crate_event WHEN EXISTS (SELECT 1 FROM crate_event WHERE crate = NEW.crate AND seq = NEW.seq) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER part_event_no_update BEFORE UPDATE ON part_event BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER part_event_no_delete BEFORE DELETE ON part_event BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER part_event_no_replace BEFORE INSERT ON part_event WHEN EXISTS (SELECT 1 FROM part_event WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER rejudged_no_update BEFORE UPDATE ON rejudged BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER rejudged_no_delete BEFORE DELETE ON rejudged BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER rejudged_no_replace BEFORE INSERT ON rejudged WHEN EXISTS (SELECT 1 FROM rejudged WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER link_no_update BEFORE UPDATE ON link BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER link_no_delete BEFORE DELETE ON link BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER link_no_replace BEFORE INSERT ON link WHEN EXISTS (SELECT 1 FROM link WHERE seq = NEW.seq) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE INDEX ix_birth_part ON birth (part);
CREATE TRIGGER birth_no_update BEFORE UPDATE ON birth BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER birth_no_delete BEFORE DELETE ON birth BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE TRIGGER birth_no_replace BEFORE INSERT ON birth WHEN EXISTS (SELECT 1 FROM birth WHERE birth = NEW.birth) BEGIN SELECT RAISE(ABORT, 'the store is append only'); END;
CREATE INDEX part_now_newest ON part_now (started DESC, id);
CREATE INDEX part_figure_lines ON part_figure (simulated, limit_at, part, id, readings, per_year, first_at, first, last_at, last_u, low, high) WHERE limit_at IS NOT NULL;
CREATE INDEX part_figure_siblings ON part_figure (simulated, rating, id, last, per_year);
CREATE INDEX part_word_part ON part_word (part);
CREATE INDEX ix_part_alias_part ON part_alias (part);
COMMIT;
