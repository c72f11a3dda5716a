// The carrier: wells for inverted cups, a sticky dish and a probe on its post in each. All lengths in mm.
//
//   openscad -o tile.stl -D 'part="tile"' carrier.scad
//   openscad -o post.stl -D 'part="post"' -D 'cup="deli"' carrier.scad
//
// From below: a plywood base board; tiles screwed to it, with the cable in their channels; in each well a dish, through
// whose middle the probe's post stands up; on the ledge above the dish the cup, its mesh downwards, the mesh finger of
// its lid over the post.

part = "assembly";  // tile, dish, post, assembly, cutaway, exploded, plywood
cup = "9oz";        // 9oz, deli: common cups; or give rim_mm and cup_height_mm of yours

// The cup, measured with its lid on: common practice, no source. Measure yours.
rim_mm = cup == "deli" ? 117 : 92;
cup_height_mm = cup == "deli" ? 74 : 78;
cup_bottom_mm = cup == "deli" ? 95 : 62;

slots_per_row = 5;
rows = 2;
pitch_mm = rim_mm + 12;
bed_mm = 220;               // what the printer can print

rim_clearance_mm = 1;       // around the rim, each side
ledge_mm = 4;               // what the rim stands on
collar_mm = 12;             // how deep the rim sits
wall_least_mm = 4;          // between two wells

sticky_tray_depth_mm = 6;   // from the mesh down to the sticky floor of the dish
air_gap_mm = 3;             // from the mesh down to the dish's rim: the way of the bees' air
vents = 8;                  // openings around the rim, on which the air comes in
vent_mm = 12;
air_least_mm2 = 200;        // under the rim, for 300 bees: judgement, not measured
dish_wall_mm = 1.6;
dish_clearance_mm = 0.5;

post_mm = 8.6;              // the post's outside; the probe's lead runs in it
post_bore_mm = 6;           // a TO-92 is 4.6 wide (DS18B20 datasheet, from memory)
probe_above_mesh_mm = 38;   // the probe's tip: in the middle third of the cup
cage_slot_mm = 2;           // openings around the probe
cage_height_mm = 9;
finger_mm = 13;             // inside of the mesh finger in the lid
mite_gap_mm = 0.4;          // post to dish, each side: a mite is 1.1 long and 1.6 wide (common knowledge, no source)

socket_mm = 8;              // how deep the post stands in the tile
coil_height_mm = 12;        // room under the well for the lead's spare length
coil_mm = 46;
cable_channel_width_mm = 12;
cable_channel_height_mm = 10;
screw_mm = 3.4;
screw_head_mm = 7;
screw_length_mm = 10;       // from the base board to the screw's head
screw_inset_mm = 7;

box_mm = [60, 100, 30];     // the electronics, beside the tiles; in the pictures only
fine = 72;                  // corners of a circle

well_mm = rim_mm + 2 * rim_clearance_mm;
dish_hole_mm = rim_mm - 2 * ledge_mm;
post_hole_mm = post_mm + 0.2;
vent_at_mm = rim_mm / 2 - 1;  // from the middle of the slot
dish_mm = dish_hole_mm - 2 * dish_clearance_mm;
dish_room_mm = sticky_tray_depth_mm + dish_wall_mm;
dish_height_mm = dish_room_mm - air_gap_mm;
floor_mm = coil_height_mm + socket_mm;
ledge_at_mm = floor_mm + dish_room_mm;
height_mm = ledge_at_mm + collar_mm;
shoulder_mm = post_mm + 3;
shoulder_height_mm = 2;
tip_mm = ledge_at_mm + probe_above_mesh_mm;

outer_mm = [slots_per_row * pitch_mm, rows * pitch_mm, height_mm];
tile_columns = min(slots_per_row, floor(bed_mm / pitch_mm));
tile_rows = min(rows, floor(bed_mm / pitch_mm));

assert(pitch_mm >= well_mm + wall_least_mm,
  str("pitch_mm is ", pitch_mm, " and the wells are ", well_mm, " wide: make it at least ", well_mm + wall_least_mm));
assert(pitch_mm <= bed_mm,
  str("pitch_mm is ", pitch_mm, " and the print bed ", bed_mm, ": one slot does not fit; take the plywood variant"));
assert(slots_per_row >= 1 && rows >= 1 && slots_per_row * rows <= 16,
  str(slots_per_row * rows, " slots: a board reads 1 to 16 probes"));
assert(sticky_tray_depth_mm >= 3 && sticky_tray_depth_mm <= 15,
  str("sticky_tray_depth_mm is ", sticky_tray_depth_mm, ": below 3 the mesh touches the jelly, above 15 mites get away"));
assert(sticky_tray_depth_mm - air_gap_mm >= 2,
  str("air_gap_mm is ", air_gap_mm, ": the dish keeps a wall of ", sticky_tray_depth_mm - air_gap_mm, ", at least 2 are needed"));
assert(vents * vent_mm * air_gap_mm >= air_least_mm2,
  str("the air has ", vents * vent_mm * air_gap_mm, " mm2 under the rim: bees need at least ", air_least_mm2));
assert(probe_above_mesh_mm >= cup_height_mm / 3 && probe_above_mesh_mm <= cup_height_mm * 2 / 3,
  str("probe_above_mesh_mm is ", probe_above_mesh_mm, ": keep the probe in the middle third of the cup, ",
    cup_height_mm / 3, " to ", cup_height_mm * 2 / 3));
assert(finger_mm >= post_mm + 3, str("finger_mm is ", finger_mm, ": the post of ", post_mm, " needs at least ", post_mm + 3));
assert(mite_gap_mm <= 0.5, str("mite_gap_mm is ", mite_gap_mm, ": above 0.5 mites fall past the dish"));
assert(post_bore_mm >= 5 && post_bore_mm <= post_mm - 2,
  str("post_bore_mm is ", post_bore_mm, ": the probe needs 5 and the post walls of 1"));
assert(cable_channel_height_mm <= coil_height_mm,
  str("cable_channel_height_mm is ", cable_channel_height_mm, ": at most coil_height_mm, ", coil_height_mm));
echo(outer_mm = outer_mm, tile_columns = tile_columns, tile_rows = tile_rows);
// For the plywood drawing.
echo(pitch_mm = pitch_mm, well_mm = well_mm, dish_hole_mm = dish_hole_mm, post_hole_mm = post_hole_mm, screw_mm = screw_mm,
  vents = vents, vent_mm = vent_mm, vent_at_mm = vent_at_mm, slots_per_row = slots_per_row, rows = rows);
// For the picture of the lid's mesh finger.
echo(rim_mm = rim_mm, cup_height_mm = cup_height_mm, cup_bottom_mm = cup_bottom_mm, finger_mm = finger_mm, post_mm = post_mm,
  shoulder_mm = shoulder_mm, probe_above_mesh_mm = probe_above_mesh_mm, floor_mm = floor_mm,
  ledge_at_mm = ledge_at_mm, height_mm = height_mm, coil_height_mm = coil_height_mm, dish_mm = dish_mm, dish_height_mm = dish_height_mm,
  dish_wall_mm = dish_wall_mm, dish_room_mm = dish_room_mm);

module disc(d_mm) { circle(d = d_mm, $fn = fine); }
module each_slot(columns, lines) {
  for (i = [0 : columns - 1], j = [0 : lines - 1]) translate([(i + 0.5) * pitch_mm, (j + 0.5) * pitch_mm]) children();
}
module at_corners(width_mm, depth_mm) {
  for (x = [screw_inset_mm, width_mm - screw_inset_mm], y = [screw_inset_mm, depth_mm - screw_inset_mm])
    translate([x, y]) children();
}

// Holes on the edge of the ledge, so that air comes past the rim to the mesh.
module vent_holes() {
  for (k = [0 : vents - 1]) rotate((k + 0.5) * 360 / vents) translate([vent_at_mm, 0]) circle(d = vent_mm, $fn = fine / 4);
}

// One well, taken away from a block.
module well() {
  translate([0, 0, ledge_at_mm]) linear_extrude(collar_mm + 1) disc(well_mm);
  translate([0, 0, floor_mm]) linear_extrude(dish_room_mm + 1) disc(dish_hole_mm);
  translate([0, 0, ledge_at_mm - air_gap_mm]) linear_extrude(air_gap_mm + collar_mm + 1) vent_holes();
  translate([0, 0, -1]) linear_extrude(floor_mm + 2) disc(post_hole_mm);
  // A cone needs no support when it is printed.
  translate([0, 0, -0.01]) cylinder(h = coil_height_mm, d1 = coil_mm, d2 = coil_mm - 2 * coil_height_mm, $fn = fine);
}

module tile(columns = tile_columns, lines = tile_rows) {
  width_mm = columns * pitch_mm;
  depth_mm = lines * pitch_mm;
  difference() {
    cube([width_mm, depth_mm, height_mm]);
    each_slot(columns, lines) well();
    for (j = [0 : lines - 1]) translate([-1, (j + 0.5) * pitch_mm - cable_channel_width_mm / 2, -1])
      cube([width_mm + 2, cable_channel_width_mm, cable_channel_height_mm + 1]);
    for (i = [0 : columns - 1]) translate([(i + 0.5) * pitch_mm - cable_channel_width_mm / 2, -1, -1])
      cube([cable_channel_width_mm, depth_mm + 2, cable_channel_height_mm + 1]);
    at_corners(width_mm, depth_mm) {
      translate([0, 0, -1]) linear_extrude(height_mm + 2) circle(d = screw_mm, $fn = fine / 4);
      translate([0, 0, screw_length_mm]) linear_extrude(height_mm) circle(d = screw_head_mm, $fn = fine / 4);
    }
  }
}

// The dish that is coated with petroleum jelly. Its collar goes over the post and is coated too.
module dish() {
  collar_bore_mm = shoulder_mm + 0.6;
  lip_mm = 1.2;
  rotate_extrude($fn = fine) {
    translate([collar_bore_mm / 2, 0]) square([(dish_mm - collar_bore_mm) / 2, dish_wall_mm]);
    translate([dish_mm / 2 - dish_wall_mm, 0]) square([dish_wall_mm, dish_height_mm]);
    translate([collar_bore_mm / 2, 0]) square([dish_wall_mm, dish_room_mm - 1]);
    translate([post_mm / 2 + mite_gap_mm, dish_room_mm - 1 - lip_mm])
      square([collar_bore_mm / 2 + dish_wall_mm - post_mm / 2 - mite_gap_mm, lip_mm]);
  }
}

// The probe's post: pushed into the tile from above, the lead hanging out below.
module post() {
  length_mm = tip_mm - floor_mm;
  difference() {
    rotate_extrude($fn = fine) difference() {
      union() {
        translate([0, -socket_mm]) square([post_mm / 2, socket_mm + length_mm - 2]);
        square([shoulder_mm / 2, shoulder_height_mm]);
        translate([0, length_mm - 2]) polygon([[0, 0], [post_mm / 2, 0], [post_mm / 2 - 1.5, 2], [0, 2]]);
      }
      translate([0, -socket_mm - 1]) square([post_bore_mm / 2, socket_mm + length_mm - 0.2]);
    }
    for (turn = [0, 90]) rotate(turn) translate([-post_mm, -cage_slot_mm / 2, length_mm - 2 - cage_height_mm])
      cube([2 * post_mm, cage_slot_mm, cage_height_mm]);
  }
}

// For the pictures only: coloured, and with the front half taken off. Each cut lies a hair behind the last, else a
// preview gives all of them one colour.
module shown(shade, cut_at_mm, clear = 1) {
  difference() {
    color(shade, clear) children();
    if (cut_at_mm != undef) color(shade) translate([-500, cut_at_mm - 1000, -100]) cube([1000, 1000, 1000]);
  }
}

// For the pictures only: a cup upside down, its lid's mesh finger over the post.
module inverted_cup(is_cut = false) {
  translate([0, 0, ledge_at_mm]) {
    shown("dimgray", is_cut ? 0.04 : undef) difference() {
      union() {
        cylinder(h = 0.8, d = rim_mm - 3, $fn = fine);
        cylinder(h = probe_above_mesh_mm + 4, d = finger_mm + 1.4, $fn = 36);
      }
      translate([0, 0, -0.1]) cylinder(h = probe_above_mesh_mm + 3.4, d = finger_mm, $fn = 36);
    }
    shown("skyblue", is_cut ? 0.05 : undef, is_cut ? 0.6 : 0.35) difference() {
      cylinder(h = cup_height_mm, d1 = rim_mm, d2 = cup_bottom_mm, $fn = fine);
      translate([0, 0, -0.1]) cylinder(h = cup_height_mm - 1, d1 = rim_mm - 3, d2 = cup_bottom_mm - 3, $fn = fine);
    }
  }
}

module furnished_slot(is_cut = false) {
  shown("gold", is_cut ? 0.02 : undef) translate([0, 0, floor_mm]) dish();
  shown("crimson", is_cut ? 0.03 : undef) translate([0, 0, floor_mm]) post();
}

// All tiles of a carrier in their places, a little apart.
module tiles() {
  for (i = [0 : tile_columns : slots_per_row - 1], j = [0 : tile_rows : rows - 1])
    translate([i * pitch_mm + 0.3 * i, j * pitch_mm + 0.3 * j, 0])
      tile(min(tile_columns, slots_per_row - i), min(tile_rows, rows - j));
}

module assembly() {
  beside_mm = box_mm[0] + 20;
  color("burlywood") translate([-beside_mm, -10, -9.5]) cube([outer_mm[0] + beside_mm + 10, outer_mm[1] + 20, 9]);
  color("slategray") translate([-beside_mm + 10, (outer_mm[1] - box_mm[1]) / 2, -0.4]) cube(box_mm);
  color("lightgray") tiles();
  each_slot(slots_per_row, rows) furnished_slot();
  translate([0.5 * pitch_mm, (rows - 0.5) * pitch_mm]) inverted_cup();
}

module cutaway() {
  shown("burlywood", 0) translate([-pitch_mm / 2, -pitch_mm / 2, -9.5]) cube([pitch_mm, pitch_mm, 9]);
  shown("lightgray", 0.01) translate([-pitch_mm / 2, -pitch_mm / 2, 0]) tile(1, 1);
  furnished_slot(true);
  inverted_cup(true);
}

// What goes into a well, one above the other, the probe's lead hanging out of its post.
module exploded() {
  apart_mm = 38;
  color("lightgray") translate([-pitch_mm / 2, -pitch_mm / 2, 0]) tile(1, 1);
  translate([0, 0, apart_mm]) {
    color("gold") translate([0, 0, floor_mm + 1.7 * apart_mm]) dish();
    color("crimson") translate([0, 0, floor_mm]) post();
    color("black") translate([0, 0, -apart_mm]) cylinder(h = apart_mm + coil_height_mm, d = 2, $fn = 12);
  }
  translate([0, 0, 3.2 * apart_mm]) inverted_cup();
}

// The same of boards, from above: guide as thick as collar_mm, ledge as thick as the dish is high, floor of 9 mm on strips.
module board(hole_mm, has_vents = true) {
  difference() {
    square([outer_mm[0], outer_mm[1]]);
    each_slot(slots_per_row, rows) {
      disc(hole_mm);
      if (has_vents) vent_holes();
    }
    at_corners(outer_mm[0], outer_mm[1]) circle(d = screw_mm, $fn = fine / 4);
    translate([outer_mm[0] / 2 + 0.5 * pitch_mm * (slots_per_row % 2), 0])
      for (y = [screw_inset_mm, outer_mm[1] - screw_inset_mm]) translate([0, y]) circle(d = screw_mm, $fn = fine / 4);
  }
}

module plywood() {
  gap_mm = 20;
  board(post_hole_mm, has_vents = false);
  translate([0, outer_mm[1] + gap_mm]) board(dish_hole_mm);
  translate([0, 2 * (outer_mm[1] + gap_mm)]) board(well_mm);
}

if (part == "tile") tile();
else if (part == "dish") dish();
else if (part == "post") post();
else if (part == "cutaway") cutaway();
else if (part == "exploded") exploded();
else if (part == "plywood") plywood();
else if (part == "assembly") assembly();
else assert(false, str("part is \"", part, "\": take tile, dish, post, assembly, cutaway, exploded or plywood"));
