from django.contrib import admin

from wintering.frames.models import Bench, Fitting, Frame, Microclimate, Module


@admin.register(Frame)
class FrameAdmin(admin.ModelAdmin):
    list_display = ("name", "kind", "width_cm", "depth_cm", "time_zone")


@admin.register(Fitting)
class FittingAdmin(admin.ModelAdmin):
    list_display = ("frame", "kind", "x_cm", "y_cm")
    list_select_related = ("frame",)


@admin.register(Microclimate)
class MicroclimateAdmin(admin.ModelAdmin):
    list_display = ("name", "frame", "follows", "offset_k", "safe_low_c", "safe_high_c")
    list_filter = ("frame",)
    list_select_related = ("frame", "follows")


@admin.register(Bench)
class BenchAdmin(admin.ModelAdmin):
    list_display = ("name", "frame", "level", "height_cm", "headroom_cm")
    list_filter = ("frame",)
    list_select_related = ("frame",)


@admin.register(Module)
class ModuleAdmin(admin.ModelAdmin):
    list_display = ("label", "bench", "microclimate")
    list_filter = ("bench",)
    list_select_related = ("bench__frame", "microclimate")
