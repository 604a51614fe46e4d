"""When and by whom: courses, visits, crews, dispatch and paper."""
