"""Tanks to draw in tests, of every kind that the module knows."""

from gallery_ops.drawing import (
    Hardscape,
    Leaf,
    Place,
    PlantGroup,
    Profile,
    Rock,
    Stage,
    TankShape,
)


def a_shape(
    code: str = "T11",
    *,
    size: tuple[int, int, int] = (900, 450, 450),
    stage: Stage = Stage.SHOW,
    profile: Profile = Profile.LEFT,
    plants: tuple[PlantGroup, ...] = (),
    hardscape: tuple[Hardscape, ...] = (Hardscape(Rock.WOOD, 0.2), Hardscape(Rock.STEPS, 0.5)),
    version: str = "1.2",
    title: str = "Ferry Steps",
) -> TankShape:
    """A tank that differs from the usual one only where the test says so."""
    return TankShape(
        code,
        *size,
        glass_mm=8,
        title=title,
        stage=stage,
        profile=profile,
        hardscape=hardscape,
        plants=plants,
        version=version,
    )


PLANTS = (
    PlantGroup(Place.EPIPHYTE, 0.2, 0.5, 90),
    PlantGroup(Place.BACKGROUND, 0.03, 0.34, 270, Leaf.RED),
    PlantGroup(Place.MIDGROUND, 0.3, 0.66, 70, Leaf.DARK),
    PlantGroup(Place.FOREGROUND, 0, 1, 20, Leaf.LIGHT),
    PlantGroup(Place.MOSS, 0.4, 0.6, 20),
    PlantGroup(Place.FLOATING, 0.6, 0.9, 10),
)


def every_shape() -> list[TankShape]:
    """All stages, profiles, sizes and kinds of hardscape, with and without plant groups."""
    sizes = ((300, 300, 350), (600, 300, 360), (1200, 450, 450), (2000, 700, 700))
    pieces = (
        (Hardscape(Rock.STONE, 0.3, 120, 180), Hardscape(Rock.STONE, 0.6)),
        (Hardscape(Rock.STONES, 0.65),),
        (Hardscape(Rock.WOOD, 0.85), Hardscape(Rock.WOOD, 0.1), Hardscape(Rock.WOOD, 0.5)),
        (),
    )
    shapes = []
    for i, stage in enumerate(Stage):
        for j, profile in enumerate(Profile):
            k = i + j
            shapes.append(
                a_shape(
                    f"A{i}{j}",
                    size=sizes[k % 4],
                    stage=stage,
                    profile=profile,
                    hardscape=pieces[(k // 2) % 4],
                    plants=PLANTS if k % 3 == 0 else (),
                )
            )
    return shapes
