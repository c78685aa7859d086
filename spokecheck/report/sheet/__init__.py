"""The drawn sheet of a design, and how lines and lettering are drawn.

Reading order: ``ink``, ``sheet``, ``board``, ``dimensions``, ``regions``,
``section_planes``, ``views``, ``section_dimensions``, ``face_dimensions``,
``title_block``, ``design_sheet``.
"""
