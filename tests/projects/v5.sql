-- A project file of format 5 as it was written; kept so that it opens for ever. Invented data.
pragma application_id = 1936224116;
pragma user_version = 5;
BEGIN TRANSACTION;
CREATE TABLE choices (
            number integer primary key,
            date text not null,
            prototype text not null references prototypes (name),
            reason text not null,
            evidence text not null
        ) strict;
INSERT INTO "choices" VALUES(1,'2026-01-17','twin roller','tightest','{"probability": 0.71}');
CREATE TABLE crew_files (
            kind text primary key not null,
            text text not null
        ) strict;
INSERT INTO "crew_files" VALUES('match','# An invented match of the Lantern crew.
[match]
length = "150 s"
autonomous = "15 s"
autonomous_factor = 2

[robot]
start = ["1 m", "1 m"]
speed = "2.4 m/s"
acceleration = "2 m/s^2"
storage = 3
preload = 3
spread = "20 %"

[launcher]
recovery = "0.9 s"
aim = "1.2 s"
jam = "1 %"
jam_time = "4 s"

[[position]]
name = "at the rail"
hit = "70 %"

[[station]]
name = "ball rack"
x = "0.5 m"
y = "4.5 m"
time_per_ball = "0.8 s"

[[plan]]
name = "rail all day"
positions = ["at the rail"]
stations = ["ball rack"]
');
CREATE TABLE drives (
            number integer primary key,
            name text not null unique,
            text text not null
        ) strict;
INSERT INTO "drives" VALUES(1,'Yard wheel drive','# INVENTED for the demonstration: no real motor, battery or robot.
name = "Yard wheel drive"

[[motor]]
class = "12 V 550 class"

[[motor]]
name = "measured motor"
rotor_inertia = "0.3 kg cm^2"
[[motor.reading]]
voltage = "12 V"
current = "6 A"
speed = "17900 rpm"
torque = "0.0245 N m"
[[motor.reading]]
voltage = "12 V"
current = "25 A"
speed = "14300 rpm"
torque = "0.138 N m"
[[motor.reading]]
voltage = "12 V"
current = "45 A"
speed = "10700 rpm"
torque = "0.262 N m"

[[stage]]
kind = "spur"
teeth = [12, 60]

[supply]
chemistry = "NiMH"
cells = 10
capacity = "3 Ah"
resistance = "80 mohm"
level = "95 %"
wiring = "10 mohm"
current_limit = "40 A"
other_current = "5 A"
main_breaker = "40 A"
motor_breaker = "20 A"

[wheel]
inertia = "20 kg cm^2"
friction = "0.006 N m"
ball_inertia = "4.9 kg cm^2"
motors = 2
speed = "1900 rpm"

[match]
length = "150 s"
feed = "0.1 s"
ready = "98 %"
stop = "brake"
air = "22 degC"

[[burst]]
start = "4 s"
shots = 4
times = 15
every = "9 s"

[search]
motors = [1, 2, 3, 4]
teeth = [12, 15, 18, 24, 30, 36, 48, 60]
stages = 2
least_ratio = 1.5
most_ratio = 9.0
inertias = ["8 kg cm^2", "14 kg cm^2", "20 kg cm^2", "30 kg cm^2", "45 kg cm^2"]
recovery = "0.3 s"
ready_after = "1.5 s"
lowest_voltage = "7.5 V"
');
CREATE TABLE facts (key text primary key not null, value text not null) strict;
INSERT INTO "facts" VALUES('truth','{"speed_sd_m_s": 0.12}');
CREATE TABLE game (one integer primary key check (one = 1), text text not null) strict;
INSERT INTO "game" VALUES(1,'# Lantern Loft: an invented game. Nothing here is from a real rule book.

[game]
name = "Lantern Loft"
origin = "invented"        # "rules" for a real event

[field]                    # floor from x = 0 to length, y = 0 to width; z is up, the floor is z = 0
length = "8 m"
width = "5 m"

[ball]
name = "foam ball"
diameter = "150 mm"
diameter_sd = "1.5 mm"     # standard deviation from ball to ball
mass = "130 g"
mass_sd = "3 g"
drag = 0.5                 # a number, a law''s name, or points [[Reynolds number, C_D], ...]
lift = { law = "cross", scale = 0.9, origin = "assumed" }
hollow = "solid"           # "thin shell", a wall such as "6 mm", or the factor I/(m r^2)
spin_decay = 0.02

[air]
temperature = "22 degC"
altitude = "350 m"         # or pressure = "972 hPa"
humidity = "45 %"
wind = { speed = "0 m/s", towards = "+x" }

[[target]]
name = "upper lantern"
shape = "circle"
x = "7.6 m"                # centre of the opening
y = "2.5 m"
z = "2.4 m"
faces = { azimuth = "-x", elevation = "35 deg" }   # where its front looks: back to the crew and up
diameter = "600 mm"
points = 5

[[target]]
name = "basket"
shape = "rectangle"
x = "7.2 m"
y = "0.9 m"
z = "1.1 m"
faces = "up"               # width then runs along y, height along x
width = "90 cm"
height = "24 in"
points = 2

[[target]]
name = "gable"
shape = "polygon"
x = "7.9 m"
y = "4.2 m"
z = "1.5 m"
faces = "-x"
corners = [["-40 cm", "0 cm"], ["40 cm", "0 cm"], ["40 cm", "40 cm"], ["0 cm", "70 cm"], ["-40 cm", "40 cm"]]
points = 3

[[obstacle]]
name = "middle wall"
shape = "box"
x = "4 m"
y = "2.5 m"
length = "60 mm"           # along x, or along the direction "turned"
width = "1.8 m"
top = "75 cm"

[[obstacle]]
name = "lamp post"
shape = "post"
x = "5.5 m"
y = "3.6 m"
diameter = "90 mm"
top = "2.1 m"

[[defender]]
name = "tall robot"
length = "70 cm"
width = "70 cm"
height = "1.2 m"
from = ["5 m", "1.5 m"]    # it may stand anywhere along this line; or give x and y
to = ["5 m", "3.2 m"]

[[position]]
name = "at the rail"       # bumped against the rail: good to a centimetre
x = "3.2 m"
y = "1.2 m"
place_sd = "10 mm"
heading_sd = "0.4 deg"
targets = ["upper lantern", "basket"]

[[position]]
name = "open floor"        # driven to by eye
x = "2.4 m"
y = "3.4 m"
place_sd = "9 cm"
heading_sd = "2.5 deg"
targets = ["upper lantern"]
needed = false

[limits]
motors = 3
stored_energy = "40 J"
mass = "6 kg"
length = "45 cm"
width = "45 cm"
height = "60 cm"
');
CREATE TABLE journal (number integer primary key, at text not null, what text not null) strict;
INSERT INTO "journal" VALUES(1,'2026-01-17T18:30:00+00:00','game ''Lantern Loft'' set');
INSERT INTO "journal" VALUES(2,'2026-01-17T18:30:00+00:00','prototype ''twin roller'' put');
INSERT INTO "journal" VALUES(3,'2026-01-17T18:30:00+00:00','prototype ''catapult'' put');
INSERT INTO "journal" VALUES(4,'2026-01-17T18:30:00+00:00','trial ''roller low'' put');
INSERT INTO "journal" VALUES(5,'2026-01-17T18:30:00+00:00','trial ''catapult at the wall'' put');
INSERT INTO "journal" VALUES(6,'2026-01-17T18:30:00+00:00','2 shots added to trial ''roller low''');
INSERT INTO "journal" VALUES(7,'2026-01-17T18:30:00+00:00','1 shot added to trial ''catapult at the wall''');
INSERT INTO "journal" VALUES(8,'2026-01-17T18:30:00+00:00','prototype ''twin roller'' chosen');
INSERT INTO "journal" VALUES(9,'2026-11-25T14:24:13+00:00','launcher of ''catapult'' described');
INSERT INTO "journal" VALUES(10,'2026-11-25T17:58:27+00:00','match plans set');
INSERT INTO "journal" VALUES(11,'2026-11-25T18:08:30+00:00','drive ''Yard wheel drive'' put');
CREATE TABLE launchers (
            number integer primary key,
            prototype text not null unique references prototypes (name),
            text text not null
        ) strict;
INSERT INTO "launchers" VALUES(1,'catapult','# Launchers of an invented crew, as they stand on paper. Nobody built them.

[[launcher]]
prototype = "catapult"
kind = "throwing arm"
drive = "spring"
stiffness = { value = "1.2 N/mm", sd = "1.5 %", origin = "measured" }
rest_length = "12 cm"
lever = "8 cm"
anchor = "20 cm"
anchor_angle = "130 deg"
cocked_angle = { value = "-20 deg", low = "-25 deg", high = "10 deg", sd = "0.3 deg" }
elevation = { value = "45 deg", low = "40 deg", high = "60 deg", sd = "0.5 deg" }
release_height = "50 cm"
azimuth = { value = "0 deg", sd = "0.4 deg" }
arm_length = "35 cm"
arm_inertia = "120 kg cm^2"
arm_mass = "300 g"
arm_centre = "15 cm"
');
CREATE TABLE meta (key text primary key not null, value text not null) strict;
INSERT INTO "meta" VALUES('name','Kept for ever');
INSERT INTO "meta" VALUES('created','2026-01-17T18:30:00+00:00');
CREATE TABLE prototypes (
            number integer primary key,
            name text not null unique,
            mechanism text not null,
            release_height real not null,
            elevation_low real not null,
            elevation_high real not null,
            speed_low real,
            speed_high real,
            spin_parameter real not null,
            spin_parameter_sd real not null,
            motors integer,
            stored_energy real,
            mass real,
            length real,
            width real,
            height real,
            remark text not null
        ) strict;
INSERT INTO "prototypes" VALUES(1,'twin roller','opposed wheels',0.55,9.075712110370514063e-01,9.075712110370514063e-01,5.0,11.0,0.15,0.02,2,18.0,3.1,0.4,0.38,0.55,'wheels of 100 mm, gap 120 mm');
INSERT INTO "prototypes" VALUES(2,'catapult','spring arm',0.508,6.10865238198015303439e-01,1.22173047639603060687e+00,NULL,NULL,0.0,0.0,1,30.0,NULL,NULL,NULL,NULL,'');
CREATE TABLE shots (
            uid text primary key not null,
            trial text not null references trials (name),
            "order" integer not null check ("order" > 0),
            ball text,
            along real,
            "cross" real,
            height real,
            speed real,
            elevation real,
            spin real,
            hit integer check (hit in (0, 1)),
            remark text not null,
            set_aside text,
            source text not null, speed_sd real, elevation_sd real, spin_sd real, clip text, first_frame integer, last_frame integer,
            unique (trial, "order")
        ) strict;
INSERT INTO "shots" VALUES('a1','roller low',1,'A',3.2,-0.12,NULL,NULL,NULL,NULL,NULL,'',NULL,'typed',NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "shots" VALUES('a2','roller low',2,'B',2.9,0.3,NULL,NULL,NULL,NULL,NULL,'','ball was wet','typed',NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "shots" VALUES('b1','catapult at the wall',1,NULL,NULL,0.05,2.1,8.9,0.8,12.5,1,'rim',NULL,'',0.04,0.005,NULL,'abababababababababababababababababababababababababababababababab',31,58);
CREATE TABLE trials (
            number integer primary key,
            name text not null unique,
            prototype text not null references prototypes (name),
            date text,
            setting text not null,
            elevation real,
            release_height real,
            spin_parameter real,
            surface text not null check (surface in ('floor', 'plane')),
            surface_at real not null,
            mark_sd real not null,
            speed_sd real,
            elevation_sd real,
            same_ball integer not null check (same_ball in (0, 1)),
            position text,
            target text,
            origin text not null check (origin in ('measured', 'simulated')),
            remark text not null
        ) strict;
INSERT INTO "trials" VALUES(1,'roller low','twin roller','2026-01-17','upper wheel 2400 rpm, lower wheel 2900 rpm',9.075712110370514063e-01,NULL,NULL,'floor',0.0,0.01,NULL,NULL,0,NULL,NULL,'measured','gym, doors shut');
INSERT INTO "trials" VALUES(2,'catapult at the wall','catapult','2026-01-18','',7.85398163397448278999e-01,NULL,NULL,'plane',4.0,0.005,0.1,1.39626340159546367264e-02,1,NULL,NULL,'measured','');
COMMIT;
