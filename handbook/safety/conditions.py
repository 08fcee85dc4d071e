"""The closed list of conditions that a limit in data/limits.yml may ask for under ``when``.

Limits are read with these words and no others; handbook.safety_rules.state says when each one holds.
"""

from __future__ import annotations

from enum import StrEnum


class Condition(StrEnum):
    """One condition: its value is the word that stands in data/limits.yml."""

    # The form of the food
    WHOLE_CUT = "whole cut"  # whole or cut pieces, not minced or stuffed
    INTACT = "intact"  # a whole cut with no brine injected
    INJECTED = "injected"  # brine pumped in
    MINCED = "minced"  # minced food, and the filling of stuffed food
    STUFFED = "stuffed"
    # The kind of food, beyond its class
    BACON = "bacon"  # pork belly, not minced
    OTHER_THAN_BACON = "other than bacon"
    CABBAGE = "cabbage"
    CUCUMBER = "cucumber"
    OTHER_VEGETABLE = "other vegetable"
    TUNA = "tuna"
    SCOMBROID = "scombroid"  # fish that form histamine
    EXEMPT = "exempt from freezing"  # fish without a risk of parasites, by species or by a grower's statement
    CHICKEN = "chicken"
    TURKEY = "turkey"
    OTHER_POULTRY = "other poultry"
    # What is done to it
    DRIED_AFTER_HEAT = "dried after heating"  # strips: heated, then dried for keeping
    SMOKED = "smoked"
    UNCOOKED = "uncooked"  # not known to be cooked through
    BRINED_LONG = "brined over four hours"
    # Curing
    CURED = "cured"  # enough ingoing nitrite to count as cured when it cools
    UNCURED = "uncured"
    NITRITE = "nitrite"  # any ingoing nitrite
    PUMPED_OR_IMMERSED = "pumped or immersed"  # how the curing salt gets in
    DRY_CURED = "dry-cured"
    NITRITE_FISH = "nitrite fish"  # a fish that the regulation names for nitrite
    NITRATE_FISH = "nitrate fish"
    NITRITE_NOT_PERMITTED = "nitrite not permitted"
    NITRATE_NOT_PERMITTED = "nitrate not permitted"
    # The pack
    IN_AIR = "packed in air"
    NO_AIR = "no air"  # under vacuum or under brine
    # Which organism a log reduction was computed for: stated by the rule, not by the food
    SALMONELLA = "salmonella"
    LISTERIA = "listeria"
