"""Tones of the drawing for a file that stands alone, without the style sheet of a page.

They are those of the tokens of the style sheet; a test holds them together.
"""

NAMES = (
    "water-top", "water-deep", "level", "plant-0", "plant-1", "plant-2", "plant-3", "plant-4",
    "stem-1", "stem-2", "stem-3", "stem-4", "stem-5", "stone", "stone-lit", "wood", "bed",
    "bed-deep", "fish", "ink", "ink-2", "edge", "plinth", "glass-float", "glass-clear",
)  # fmt: skip

LIGHT = {
    "water-top": "#e2efe0", "water-deep": "#86b0a1", "level": "#17665a", "plant-0": "#b4d0b8",
    "plant-1": "#93bb98", "plant-2": "#5f9464", "plant-3": "#356d42", "plant-4": "#a05a46",
    "stem-1": "#6fa276", "stem-2": "#3f7d4c", "stem-3": "#2a5a36", "stem-4": "#b4705c",
    "stem-5": "#8a4636", "stone": "#69736d", "stone-lit": "#96a098", "wood": "#5b4536",
    "bed": "#bcae90", "bed-deep": "#a39474", "fish": "#b04a22", "ink": "#0e211c",
    "ink-2": "#394c44", "edge": "#6d8076", "plinth": "#fafaf5", "glass-float": "#33614c",
    "glass-clear": "#566a76",
}  # fmt: skip

DARK = {
    "water-top": "#246659", "water-deep": "#0a2724", "level": "#93e2cf", "plant-0": "#1f5147",
    "plant-1": "#2a6553", "plant-2": "#3f8a5c", "plant-3": "#68b26c", "plant-4": "#b96e58",
    "stem-1": "#3a8263", "stem-2": "#63ad68", "stem-3": "#a2d483", "stem-4": "#8e4f40",
    "stem-5": "#c98069", "stone": "#505e5b", "stone-lit": "#7d8c88", "wood": "#76573f",
    "bed": "#564b3a", "bed-deep": "#3d3529", "fish": "#f59a63", "ink": "#e7f0e6",
    "ink-2": "#b5c8bd", "edge": "#64877b", "plinth": "#0d1f1b", "glass-float": "#92c0a2",
    "glass-clear": "#bcd2de",
}  # fmt: skip
