"""Which filters and tags does every template have?"""

from django import template

register = template.Library()
