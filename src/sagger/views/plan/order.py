"""The order of keys in tables of plan.json where it is not that of the fields; a key not named comes last."""

ORDER = {
    "Bed": "lot origin basis standing packing_percent packing_u_percent green_density_percent "
    "green_density_u_percent alone_percent models solid_density_g_per_cm3 d10_um d50_um d90_um",
    "Box": "number size_mm pieces height_mm",
    "Contraction": "alloy used_percent used_source used_standing other_percent other_source other_standing",
    "Cured": "oven_temperature_degC core_temperature_degC degree_percent time_to_temperature_h "
    "time_to_cure_h corner_equivalent_h corner_most_h hold_h hold_u_h hold_shares_percent "
    "cool_h final_cure_percent programme last_piece hottest_piece shorter bed_conductivity_W_per_mK "
    "bed_conductivity_u_W_per_mK bed_conductivity_from piece_conductivity_W_per_mK voxels",
    "DropClass": "of_full_percent saturation_percent",
    "Drops": "count most_in_a_layer volume_pL saturation_asked_percent saturation_percent "
    "saturation_u_percent thin_to_percent standing",
    "Drying": "lamp_power_W standing",
    "Layers": "count thickness_um pitch_um columns rows bits first_row jitter leaks bridges "
    "longest_bridge_mm missed_rows lost_drops drop_table classes treatments",
    "Part": "index letter name file digest quantity orientations rotation_deg scale due together apart held "
    "tolerance volume_mm3 area_mm2 extent_mm green_extent_mm thickest_mm triangles sag",
    "Piece": "part name number box",
    "Promise": "part dimension nominal_mm lower_mm upper_mm u_mm chance_percent shares without",
    "PiecePromise": "part asked started sure_percent chance_percent",
    "PartPrice": "part good_pieces price_per_piece",
    "Quote": "currency total",
    "Segment": "stage",
    "Sintered": "programme load peak_degC final_relative_density_percent final_relative_density_u_percent "
    "final_relative_density_low_percent final_relative_density_high_percent final_grain_um ratio ratio_u "
    "ratio_u_load ratio_u_furnace ratio_per_kelvin places run_h curve",
    "Timetable": "spread_s return_s print_s dry_s clean_s platform_s layer_s passes stripes build_h setup_h "
    "firing_kHz firing_most_kHz mean_layer_s layer_times volume_rate_cm3_per_h bed_rate_kg_per_h "
    "piece_rate_kg_per_h standing",
    "Tolerance": "kind plus_minus_mm plus_minus_percent",
    "Tray": "run shelves mass_kg",
    "TrayFit": "part quantity footprint_mm height_mm mass_kg",
}
