"""The invented site "Quillfen Bend", drawn from a seed.

`land` shapes the ground, `lines` lays roads, water and the boundary on it,
`soils` the soil map, `survey` the same as a survey publishes it, `canopy` the trees,
`regions` counties and records, `files` writes them all.
"""
