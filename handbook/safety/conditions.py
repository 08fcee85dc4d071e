"""The closed list of conditions that a limit in data/limits/ may name under ``when``.

No other words are accepted. handbook.safety.held_conditions defines when each condition holds.
"""

from __future__ import annotations

from enum import StrEnum


class Condition(StrEnum):
    """One condition. Its value is the word used in data/limits/."""

    # The form of the food
    WHOLE_CUT = "whole cut"  # whole or cut pieces, not minced or stuffed, and no organ meat
    INTACT = "intact"  # whole muscle with no brine injected and no blade pushed in
    INJECTED = "injected"  # brine pumped in
    TENDERISED = "tenderised"  # whole muscle pierced by blades or needles
    MINCED = "minced"  # minced food, and the filling of stuffed food
    STUFFED = "stuffed"
    # The kind of food, beyond its class
    BACON = "bacon"  # pork belly, not minced
    OTHER_THAN_BACON = "other than bacon"
    ORGAN = "organ meat"  # liver, kidney, heart, tongue, gizzard
    VISCERA = "liver or kidney"  # organs that are no muscle
    OLIVE = "olive"
    CABBAGE = "cabbage"  # of sauerkraut, not napa
    NAPA = "napa cabbage"
    CUCUMBER = "cucumber"
    OTHER_VEGETABLE = "other vegetable"  # neither cabbage of any kind nor cucumber
    CHICKEN = "chicken"
    TURKEY = "turkey"
    OTHER_POULTRY = "other poultry"  # duck, goose and every bird with no table of its own
    HAM = "ham"  # pork leg
    HERRING = "herring"  # herring or sprat
    TUNA = "tuna"
    SCOMBROID = "scombroid"  # fish that form histamine
    EXEMPT = "exempt from freezing"  # fish without a risk of parasites, by species or by a grower's statement
    # The processing
    SMOKED = "smoked"
    UNSMOKED = "unsmoked"
    UNCOOKED = "uncooked"  # not known to be cooked through
    COOKED_THROUGH = "cooked through"
    COOKED_BY_EATER = "cooked by the eater"  # raw or partly cooked at the end of the page; its label says so
    DRIED_IN_AIR = "dried in air"  # salted raw meat that then hangs for five days or longer
    JERKY = "jerky"  # thin meat or poultry dried for hours in warm air, heated first or not
    SOURING = "souring"  # raw minced meat that hangs warm to sour
    PICKLED = "pickled"  # in a brine that is mostly vinegar
    UNPICKLED = "unpickled"
    BARRED = "salt or sour as measured"  # fish with the measured salt or acid that a warmer fridge requires
    HONEY = "honey"  # honey in a salting or a glaze
    BRINED_LONG = "brined over four hours"
    COOKED_PLANT = "cooked plant food"  # a vegetable or fruit that was heated, with no acid that keeps it
    # Curing
    CURED = "cured"  # enough ingoing nitrite to count as cured when it cools
    UNCURED = "uncured"
    NITRITE = "nitrite"  # any ingoing nitrite
    NITRATE = "nitrate"  # any ingoing nitrate
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
